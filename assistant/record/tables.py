"""A record as tables of plain text: what the CSV files hold and the PDF prints."""

from collections.abc import Iterable

from assistant.record.model import Group, Measurement, Note, Position, Record, StepRow, Wait, Work
from assistant.record.table import Table, table, when
from assistant.record.words import VERDICTS, duration, limits


def tables(record: Record) -> tuple[Table, ...]:
    """Give every table of a record, in the order in which it is read."""
    return (
        open_items(record),
        departures(record),
        notes(record),
        pictures(record),
        fasteners(record),
        measurements(record),
        steps(record),
        parts(record),
        tools(record),
        removed(record),
        wrenches(record),
        waits(record),
        time_line(record),
    )


def open_items(record: Record) -> Table:
    """List what is open."""
    rows = ((item.kind, item.number, item.what, item.detail) for item in record.open_items)
    return table("open-items", "Open items", "kind | step | what | detail", rows)


def departures(record: Record) -> Table:
    """List what was done otherwise than written."""
    rows = ((when(row.at), row.number, row.what, row.reason, row.by) for row in record.departures)
    return table("departures", "Departures from the procedure", "when | step | what | reason | by", rows)


def notes(record: Record) -> Table:
    """List the spoken notes with their text."""
    rows = (
        (
            row.note,
            when(row.at),
            row.matter,
            row.number,
            row.about,
            length_of(row),
            row.text,
            text_by(row),
            row.file,
        )
        for row in record.notes
    )
    return table(
        "notes", "Spoken notes", "note | when | for | step | about | length | text | text by | sound", rows
    )


def length_of(note: Note) -> str:
    """Say how long a note is, and whether it was cut off."""
    if note.seconds is None:
        return "still open"
    return duration(note.seconds) + (", cut off" if note.ended_by == "cut off" else "")


def text_by(note: Note) -> str:
    """Say where the text of a note comes from."""
    if note.corrected:
        return f"corrected by {note.written_by}" if note.written_by else "corrected"
    if not note.text:
        return ""
    return f"{note.written_by}, rough" if note.rough else note.written_by


def pictures(record: Record) -> Table:
    """List the pictures."""
    rows = ((row.picture, when(row.at), row.number, row.about, row.file) for row in record.pictures)
    return table("pictures", "Pictures", "picture | when | step | about | file", rows)


def fasteners(record: Record) -> Table:
    """List every act at every position."""
    rows = (
        (
            group.title,
            row.position,
            row.state.words,
            f"{work.stage} of {len(group.stages)}",
            work.round,
            work.value or work.kind,
            work.wrench,
            work.setting,
            "" if work.in_order else "out of order",
            when(work.at),
            work.done_over.why if work.done_over else "",
            when(work.done_over.at if work.done_over else None),
        )
        for group in record.groups
        for row in group.positions
        for work in row.works
    )
    head = "group | position | standing now | stage | round | value | wrench | set to | order | when"
    head += " | no longer counts | since"
    return table("fasteners", "Fasteners", head, rows)


def positions(group: Group) -> Table:
    """List the positions of one group, a column for each stage."""
    stages = " | ".join(f"{number}: {stage}" for number, stage in enumerate(group.stages, start=1))
    rows = (
        (row.position, row.state.words, final(row), *_stages(group, row), remark(row))
        for row in group.positions
    )
    return table(group.name, group.title, f"position | standing | final | {stages} | remark", rows)


def final(row: Position) -> str:
    """Say what a position was finished with."""
    return " + ".join(map(str, row.final)) or "not final"


def remark(row: Position) -> str:
    """Say what is to be minded at a position; what was mended there stays true of it."""
    held = "holds a centring tool" if row.state.holds == "tool" else ""
    parts = dict.fromkeys((row.state.mended, row.state.why, held))
    return "; ".join(part for part in parts if part)


def _stages(group: Group, row: Position) -> Iterable[str]:
    for stage in range(1, len(group.stages) + 1):
        yield "\n".join(
            f"{work.value or work.kind}{_set_to(work.wrench, work.setting)}"
            f"{'' if work.in_order else ', out of order'}\n{when(work.at)}{_over(work)}"
            for work in row.works
            if work.stage == stage
        )


def _over(work: Work) -> str:
    over = work.done_over
    return f"\nno longer counts: {over.why}, {when(over.at)}" if over else ""


def _set_to(wrench: str, setting: object) -> str:
    return f" ({wrench} at {setting})" if setting else f" ({wrench})" if wrench else ""


def measurements(record: Record) -> Table:
    """List the measurements."""
    rows = (
        (
            when(row.at),
            row.number,
            row.what,
            row.size or row.value,
            came_from(row),
            limits_of(row),
            row.gauge,
            VERDICTS[row.verdict],
            fate(row),
        )
        for row in record.measurements
    )
    head = "when | step | what | measured | from | limits | known to ± | verdict | remark"
    return table("measurements", "Measurements", head, rows)


def came_from(row: Measurement) -> str:
    """Say what a value is made of: readings, a formula and its inputs, a size and what that leaves."""
    inputs = ", ".join(f"{name} {value}" for name, value in row.inputs.items())
    parts = (
        f"mean of {', '.join(map(str, row.readings))}; spread {row.spread}" if row.readings else "",
        f"{row.formula} = {row.value}" if row.formula else "",
        f"{'from' if row.formula else 'limits from'} {inputs}" if inputs else "",
        f"of the sizes at hand; {row.leaves_what}: {row.leaves}" if row.size else "",
    )
    return "; ".join(part for part in parts if part)


def limits_of(row: Measurement) -> str:
    """Write the limits of a measurement, if it has any."""
    return limits(row.least, row.most) if row.least or row.most else ""


def fate(row: Measurement) -> str:
    """Say what became of a measurement."""
    accepted = f"accepted: {row.accepted}" if row.accepted else ""
    later = "" if row.stands else "taken again later"
    return "; ".join(part for part in (accepted, later, "no longer holds" if row.stale else "") if part)


def steps(record: Record) -> Table:
    """List the steps."""
    rows = (
        (row.number, row.say, row.standing, when(row.at), row.reason, row.question, answer(row))
        for row in record.steps
    )
    return table("steps", "Steps", "step | what | standing | when | reason | question | answer", rows)


def answer(row: StepRow) -> str:
    """Give the answer to what a step asks, and who has seen it."""
    return ", seen by ".join(part for part in (row.answer, row.seen_by) if part)


def parts(record: Record) -> Table:
    """List the kit."""
    rows = (
        (
            row.part,
            "used once" if row.use_once else "",
            row.fitted_words,
            row.standing,
            ", ".join(map(when, row.fitted)),
        )
        for row in record.parts
    )
    return table("parts", "Kit", "part | kind | fitted | standing | when", rows)


def tools(record: Record) -> Table:
    """List what went in and came out."""
    rows = (
        (
            row.tool,
            "still inside" if row.inside else "out",
            "; ".join(f"{'in' if move.inside else 'out'} {when(move.at)}{move.mark}" for move in row.moves),
        )
        for row in record.tools
    )
    return table("in-and-out", "In the machine and out again", "what | standing | moves", rows)


def removed(record: Record) -> Table:
    """List what came off and where it lay."""
    rows = (
        (
            row.thing,
            row.number,
            when(row.at),
            row.place,
            "; ".join(row.told),
            row.note,
            when(row.back) + row.mark,
        )
        for row in record.removed
    )
    return table("came-off", "What came off", "part | step | off | place | told of it | note | back", rows)


def wrenches(record: Record) -> Table:
    """List the torque wrenches of the shop."""
    rows = (
        (
            row.name,
            f"{row.least} to {row.most}",
            row.resolution,
            row.deviation,
            row.calibrated or "not known",
            row.acts,
            row.remark,
        )
        for row in record.wrenches
    )
    head = "wrench | range | in steps of | may be off by | calibrated | used here | remark"
    return table("wrenches", "Torque wrenches", head, rows)


def waits(record: Record) -> Table:
    """List the waits."""
    rows = (
        (when(row.began), row.number, duration(row.seconds), how(row), when(row.ended), row.test, row.answer)
        for row in record.waits
    )
    return table("waits", "Waits", "begun | step | length | how it ended | ended | end test | answer", rows)


def how(row: Wait) -> str:
    """Say how a wait ended."""
    return f"{row.how}, {duration(row.left_s)} too early" if row.how == "cut short" else row.how


def time_line(record: Record) -> Table:
    """List what happened, in order."""
    rows = (
        (
            when(row.at),
            when(row.until),
            row.what,
            "taken back later" if row.taken_back else "",
            "; ".join(row.said),
        )
        for row in record.time_line
    )
    return table("time-line", "Time line", "when | until | what | remark | said", rows)
