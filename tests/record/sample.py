"""A made-up job on the demonstration procedure, with everything in it that a record has to show."""

import struct
import zlib
from collections.abc import Iterable
from datetime import UTC, datetime, timedelta
from functools import cache
from typing import Any

from assistant.job.events import (
    Asked,
    CautionGiven,
    CheckAnswered,
    Entry,
    Event,
    Heard,
    JobClosed,
    JobOpened,
    JobTakenUp,
    Measured,
    MeasurementAccepted,
    NoteBegun,
    NoteCorrected,
    NoteEnded,
    NoteTranscribed,
    PartUsed,
    Paused,
    PictureTaken,
    PositionWorked,
    QuestionClosed,
    Refused,
    Replied,
    Resumed,
    StepDone,
    StepReached,
    StepSkipped,
    SupplyApplied,
    TimerEnded,
    TimerStarted,
    TimerStopped,
    ToolMoved,
    Undone,
)
from assistant.job.memory import MemoryStore
from assistant.job.store import Store
from assistant.paths import shipped
from assistant.procedure.load import load_procedure
from assistant.procedure.route import Route, route_through
from assistant.torque.units import read_quantity

SECOND_NOTE: dict[str, Any] = {
    "note": 2,
    "file": "note-0002.flac",
    "step": "exhaust-clearance",
    "matter": "fault found",
    "group": "rocker bolts",
    "position": 4,
}
BEGAN = datetime(2031, 3, 4, 8, 0, tzinfo=UTC)
PROCEDURE = shipped("procedures") / "generator-set-head.yaml"


@cache
def demonstration() -> Route:
    """Give the demonstration procedure, as far as its head goes."""
    return route_through(load_procedure(PROCEDURE), "head")


class Script:
    """Writes a job into a store, turn by turn, on a clock of its own."""

    def __init__(self, store: Store, route: Route) -> None:
        self.store = store
        self.route = route
        self.now = BEGAN
        self.turn = 0

    def say(self, words: str, *events: Event, after_s: float = 20) -> int:
        """Add a turn in which something was heard; give its number."""
        heard = Heard(words=words, intents=(words.replace(" ", "-"),), engine="made up", confidence=0.9)
        return self.add(heard, *events, Replied(words="Very well."), after_s=after_s)

    def add(self, *events: Event, after_s: float = 20) -> int:
        """Add a turn; give its number."""
        self.turn += 1
        self.now += timedelta(seconds=after_s)
        self.store.append(self.turn, self.now, events)
        return self.turn

    def open(self) -> None:
        """Begin the job."""
        procedure = self.route.procedure
        opened = JobOpened(
            job="Generator at the mill",
            procedure=procedure.procedure,
            revision=procedure.revision,
            route=self.route.name,
            demonstration=procedure.demonstration,
            machine="Stand-by set, shed two",
            who="Jo",
        )
        self.add(opened, Replied(words="Battery off?"), Asked(question="begin"), after_s=0)
        self.say("yes", QuestionClosed(answer="yes"), CautionGiven(step="", acknowledged=True))

    def done(self, step: str) -> int:
        """Say that a step without an action is done, with the parts and tools that it moves."""
        found = self.route.step(step)
        return self.say(
            "done",
            StepReached(step=step),
            StepDone(step=step),
            *(PartUsed(part=part, step=step, with_step=True) for part in found.use),
            *(ToolMoved(tool=tool, inside=True) for tool in found.put_in),
            *(ToolMoved(tool=tool, inside=False) for tool in found.take_out),
            *self.supplies(step),
        )

    def supplies(self, step: str) -> tuple[Event, ...]:
        """Put on what a step wants."""
        wanted = self.route.supplies(self.route.step(step))
        return tuple(SupplyApplied(step=step, what=supply.what) for supply in wanted)

    def tighten(self, step: str, *, numbers: Iterable[int] | None = None, in_order: bool = True) -> int:
        """Work the acts of a step one by one (or those numbered here), and say it is done after its last."""
        acts = self.route.acts(self.route.step(step))
        wanted = set(numbers) if numbers is not None else {number for number, _ in acts}
        group = self.route.group(self.route.step(step)).name
        for number, act in acts:
            if number in wanted:
                worked = PositionWorked(group=group, number=number, act=act, in_order=in_order)
                last = (StepDone(step=step), *self.supplies(step)) if number == acts[-1][0] else ()
                self.say("done", worked, *last)
        return self.turn

    def measure(self, step: str, value: str, verdict: str) -> None:
        """Say a measurement."""
        measured = Measured.model_validate({"step": step, "value": read_quantity(value), "verdict": verdict})
        done = (StepDone(step=step),) if verdict == "in" else ()
        self.say(f"measured {value}", measured, *done)

    def check(self, step: str) -> None:
        """Answer a gate or an end test with yes."""
        self.say("yes", CheckAnswered(step=step, passed=True), StepDone(step=step))


def write_job(store: Store, *, settled: bool = False) -> None:
    """Write two days of work; unless `settled`, with something of every kind left open."""
    script = Script(store, demonstration())
    script.open()
    script.say("yes", CautionGiven(step="make-safe", acknowledged=True))
    for step in ("make-safe", "plug-intake", "clean-faces"):
        script.done(step)
    script.add(Refused(words="did you see the game", asked_again=False))
    script.add(Refused(asked_again=True), Replied(words="Say again.", passing=True))
    _first_day(script, settled=settled)
    script.say("pause", Paused())
    script.add(JobTakenUp(who="Sam"), Resumed(), after_s=20 * 3600)
    _second_day(script, settled=settled)


def _first_day(script: Script, *, settled: bool) -> None:
    script.measure("head-flatness", "0.08 mm", "above")
    accepted = MeasurementAccepted(step="head-flatness", reason="owner wants it run until summer")
    script.say("owner wants it run until summer", accepted, StepDone(step="head-flatness"))
    script.say("note", NoteBegun(note=1, file="note-0001.flac", step="head-flatness"))
    script.say("end note", NoteEnded(note=1, seconds=14.2))
    written = "the gasket was torn at the front"
    script.add(NoteTranscribed(note=1, words=written, engine="pocketsphinx", rough=True), after_s=0)
    script.done("turn-to-mark")
    script.check("marks")
    wrong = script.done("fit-gasket")
    script.say("undo", Undone(turn=wrong))
    script.done("fit-gasket")
    script.done("set-head")
    script.tighten("head-snug")
    if settled:
        script.done("push-rods")
    else:
        script.say("skip", StepSkipped(step="push-rods", reason="rods are still at the cleaner's"))
    script.tighten("rocker-carrier")
    script.say("start timer", TimerStarted(step="bleed-down", seconds=2700))
    if settled:
        script.add(TimerEnded(step="bleed-down"), after_s=2700)
    else:
        script.say("stop timer", TimerStopped(step="bleed-down", left_s=1500), after_s=1200)
    script.check("bleed-down")


def _second_day(script: Script, *, settled: bool) -> None:
    if settled:
        script.tighten("head-torque")
        script.done("pin-out")
    else:
        numbers = [number for number, _ in script.route.acts(script.route.step("head-torque"))]
        script.tighten("head-torque", numbers=numbers[:16])
        script.tighten("head-torque", numbers=[numbers[17]], in_order=False)
    script.measure("inlet-clearance", "0.31 mm", "in doubt")
    script.measure("inlet-clearance", "0.25 mm", "in")
    script.measure("exhaust-clearance", "0.40 mm" if settled else "0.33 mm", "in" if settled else "below")
    script.say("note", NoteBegun(**SECOND_NOTE))
    script.say("picture", PictureTaken(picture=1, file="picture-0001.jpg", step="exhaust-clearance"))
    if not settled:
        return
    script.say("end note", NoteEnded(note=2, seconds=65.0, by="silence"))
    script.add(NoteTranscribed(note=2, words="the knot is worn", engine="whisper"), after_s=0)
    script.add(NoteCorrected(note=2, words="The nut is worn.", who="Sam"), after_s=0)
    for step in ("unplug-intake", "cover-gasket"):
        script.done(step)
    script.tighten("cover-screws")
    script.check("turn-through")
    script.say("yes", QuestionClosed(answer="yes"), JobClosed())


def sample_entries(*, settled: bool = False) -> tuple[Entry, ...]:
    """Give the entries of the made-up job."""
    store = MemoryStore()
    write_job(store, settled=settled)
    return tuple(store.entries())


def png(side: int = 120) -> bytes:
    """Make a picture: a square of greys."""
    rows = b"".join(b"\0" + bytes(x * y % 256 for x in range(side)) for y in range(side))
    head = struct.pack(">IIBBBBB", side, side, 8, 0, 0, 0, 0)
    chunks = ((b"IHDR", head), (b"IDAT", zlib.compress(rows)), (b"IEND", b""))
    packed = (
        struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))
        for kind, data in chunks
    )
    return b"\x89PNG\r\n\x1a\n" + b"".join(packed)
