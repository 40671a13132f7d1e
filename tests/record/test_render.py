import base64
import re
from xml.etree import ElementTree as ET

import pytest

from assistant.job.events import JobClosed, JobOpened, NoteBegun, NoteTranscribed, PictureTaken, StepSkipped
from assistant.job.memory import MemoryStore
from assistant.procedure.model import Procedure
from assistant.procedure.route import Route, route_through
from assistant.record.gather import gather
from assistant.record.model import DEMONSTRATION, FIRST_RULE, Record
from assistant.record.render import draw_groups, render
from tests.record.page import Page
from tests.record.sample import Script, demonstration, sample_entries

UNSETTLED = gather(demonstration(), sample_entries())
SETTLED = gather(demonstration(), sample_entries(settled=True))
HOSTILE = "<script>alert(1)</script>\"'&<img src=x onerror=alert(2)>"


def _page(record: Record, route: Route | None = None) -> Page:
    return Page(_html(record, route))


def _html(record: Record, route: Route | None = None) -> str:
    return render(draw_groups(route or demonstration(), record), record)


@pytest.mark.parametrize("record", [UNSETTLED, SETTLED], ids=["unsettled", "settled"])
def test_elements_are_nested_well(record: Record) -> None:
    """Every element is closed where it belongs."""
    assert _page(record).faults == []


def test_open_items_come_first() -> None:
    """Every open item stands on the page in words, counted, before anything else of the job."""
    words = _page(UNSETTLED).words
    places = [words.index(item.what) for item in UNSETTLED.open_items]
    assert all(place < words.index("Steps done") for place in places)
    assert f"{len(UNSETTLED.open_items)} open" in words


def test_nothing_open_is_said_in_words() -> None:
    """A job with nothing open says so in words."""
    words = _page(SETTLED).words
    assert "Nothing is open" in words
    assert "The job was closed on 2031-03-05" in words


def test_notices_stand_at_the_top() -> None:
    """The demonstration notice and the first rule come before the open items."""
    words = _page(UNSETTLED).words
    assert words.index(DEMONSTRATION) < words.index("15 open")
    assert words.index(FIRST_RULE) < words.index("15 open")


def test_every_note_can_be_played() -> None:
    """Every note has a player for the sound beside the page."""
    players = _page(SETTLED).all("audio")
    assert [player["src"] for player in players] == ["sound/note-0001.flac", "sound/note-0002.flac"]
    assert all("controls" in player for player in players)


def test_typed_text_is_not_called_written_down() -> None:
    """The text of a note that was typed has no recogniser that wrote it down, and no sound that counts more."""
    note = SETTLED.notes[0].model_copy(update={"text": "Bent.", "written_by": "typed", "corrected": False})
    words = _page(SETTLED.model_copy(update={"notes": (note,)})).words
    assert "Typed. It has no sound." in " ".join(words.split())
    assert "Written down by" not in words


def test_a_lost_sound_is_told() -> None:
    """A note whose sound is not there has no player, and the page says so."""
    lost = {"present": False, "seconds": 3.0}
    notes = tuple(note.model_copy(update=lost) for note in UNSETTLED.notes)
    page = _page(UNSETTLED.model_copy(update={"notes": notes}))
    assert page.all("audio") == []
    assert page.words.count("Its sound is missing") == 2


def test_every_group_is_drawn() -> None:
    """Every fastener group has its figure, which is whole, and inside the page itself."""
    images = [image for image in _page(UNSETTLED).all("img") if not image["src"].startswith("pictures/")]
    assert len(images) == len(UNSETTLED.groups) + len(UNSETTLED.measurements) + 1 == 8
    for image in images:
        kind, _, body = image["src"].partition(",")
        assert kind == "data:image/svg+xml;base64"
        assert ET.fromstring(base64.b64decode(body)).tag.endswith("svg")  # noqa: S314


def test_nothing_is_fetched() -> None:
    """The page names no address outside: no script, no style sheet, no font, no link but into itself."""
    page = _page(UNSETTLED)
    assert page.all("script") == []
    assert [link["href"] for link in page.all("link")] == ["data:,"]
    html = _html(UNSETTLED)
    assert not re.search(r"https?://|@import|@font-face|url\(", html)


def test_standing_does_not_hang_on_colour() -> None:
    """Every standing and verdict is a word beside a shape, and the page uses no colour but greys."""
    html = _html(UNSETTLED)
    badges = re.findall(
        r'<span class="badge \w+"><svg class="shape".*?</svg> ([^<]+)</span>', html, re.DOTALL
    )
    assert {"final", "stage 3 of 4", "doubtful", "not touched", "left out", "below its limit"} <= set(badges)
    for red, green, blue in re.findall(r"#([0-9a-f]{2})([0-9a-f]{2})([0-9a-f]{2})\b", html):
        levels = [int(level, 16) for level in (red, green, blue)]
        assert max(levels) - min(levels) < 16


def _hostile() -> tuple[Route, Record]:
    """Make a record in which every text that somebody gave is hostile."""
    data = demonstration().procedure.model_dump(mode="json", by_alias=True, exclude_none=True)
    data["about"] = data["procedure"] = HOSTILE
    data["cautions"] = [HOSTILE]
    data["groups"] = {HOSTILE: {"count": 2, "thread": HOSTILE, "stages": ["snug", {"torque": "8 N.m"}]}}
    data["parts"], data["tools"], data["routes"] = {HOSTILE: {}}, [HOSTILE], {}
    data["steps"] = [
        {
            "step": "all",
            "say": HOSTILE,
            "use": [HOSTILE],
            "put_in": [HOSTILE],
            "check": {"ask": HOSTILE, "if_not": "x"},
        },
        {"step": "tighten", "say": HOSTILE, "tighten": HOSTILE},
    ]
    route = route_through(Procedure.model_validate(data))
    script = Script(MemoryStore(), route)
    named = {"machine": HOSTILE, "who": HOSTILE}
    script.add(JobOpened(job=HOSTILE, procedure=HOSTILE, revision=1, route=HOSTILE, **named))
    script.done("all")
    script.say(HOSTILE, StepSkipped(step="tighten", reason=HOSTILE))
    script.add(NoteBegun(note=1, file=f"../../{HOSTILE}", step="all", part=HOSTILE))
    script.add(NoteTranscribed(note=1, words=HOSTILE, engine=HOSTILE))
    script.add(PictureTaken(picture=1, file=f"../../{HOSTILE}", step="all", label=HOSTILE))
    script.add(JobClosed(open_items=(HOSTILE,), reason=HOSTILE))
    return route, gather(route, tuple(script.store.entries()))


def test_hostile_text_stays_text() -> None:
    """Whatever was said or written appears as text: no element and no attribute comes of it."""
    route, record = _hostile()
    page = _page(record, route)
    assert page.faults == []
    assert page.all("script") == []
    assert all(not name.startswith("on") for _, attributes in page.elements for name in attributes)
    assert page.words.count(HOSTILE) > 10
    drawing = base64.b64decode(page.all("img")[0]["src"].partition(",")[2]).decode()
    assert "<script" not in drawing


def test_sound_stays_in_its_folder() -> None:
    """A note's file name cannot lead out of the folder of sounds."""
    route, record = _hostile()
    (player,) = _page(record, route).all("audio")
    assert player["src"].startswith("sound/")
    assert ".." not in player["src"]
