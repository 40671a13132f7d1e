"""Notes whose text is typed into them: they have no sound, and their text is all that there is."""

from pathlib import Path

import pytest

from assistant.dialogue.phrasing import load_phrasebook
from assistant.dialogue.reply import PlayNote
from assistant.job.events import Replied
from assistant.job.fold import replay
from assistant.job.folder import JobFolder
from assistant.procedure.load import parse_procedure
from assistant.procedure.route import route_through
from assistant.speaking.mouth import NoMouth
from assistant.work.clock import WallClock
from assistant.work.job_notes import correct, play, write_down
from assistant.work.run import run_text
from tests.work.test_notes_at_work import START, TEXT, Fixed, conductor_of


def test_what_is_typed_into_a_note_is_its_text(tmp_path: Path) -> None:
    """Typed lines up to the end words are kept as they were typed, each at once, so that a kill loses none."""
    lines = ["yes", "yes", "fault here", "A crack, 0.3 mm?", "done"]
    with JobFolder.create(tmp_path, "job", TEXT) as folder:
        cut_off = conductor_of(folder)
        run_text(cut_off, lines, WallClock())
        cut_off.close()
        (note,) = replay(folder.journal.entries()).notes
        assert (note.text, note.written_by, note.seconds) == ("A crack, 0.3 mm? done", "typed", None)
        run_text(conductor_of(folder), ["take a note", "Bent.", "end note", "done"], WallClock())
        assert list(write_down(folder, (1, 2), Fixed(), START)) == []
        state = replay(folder.journal.entries())
    assert [note.text for note in state.notes] == ["A crack, 0.3 mm? done", "Bent."]
    assert "make-safe" in state.done


@pytest.mark.parametrize(("count", "parts"), [(1, 1), (60, 1), (130, 3)])
def test_a_typed_note_is_read_whole(tmp_path: Path, count: int, parts: int) -> None:
    """What was typed is read out; what is too long for one breath says so, and "next" brings the rest."""
    typed = " ".join(f"W{number}" for number in range(count))
    lines = ["yes", "yes", "take a note", typed, "end note", "last note", *["next"] * parts]
    with JobFolder.create(tmp_path, "job", TEXT) as folder:
        run_text(conductor_of(folder), lines, WallClock())
        said = [e.event.words for e in folder.journal.entries() if isinstance(e.event, Replied)]
    *read, last = said[-parts - 1 :]
    assert last == "That was the last note."
    assert [" And so on: say next for the rest." in part for part in read] == [True] * (parts - 1) + [False]
    whole = " ".join(
        part.removesuffix(" And so on: say next for the rest.").removesuffix(".") for part in read
    )
    assert whole.endswith(f"at step one. {typed}")


@pytest.mark.parametrize("word", ["again", "slower"])
def test_the_same_part_of_a_long_typed_note_is_read_again(tmp_path: Path, word: str) -> None:
    """Who missed something of the rest does not hear the beginning instead."""
    typed = " ".join(f"W{number}" for number in range(130))
    lines = ["yes", "yes", "take a note", typed, "end note", "last note", "next", word]
    with JobFolder.create(tmp_path, "job", TEXT) as folder:
        run_text(conductor_of(folder), lines, WallClock())
        said = [e.event.words for e in folder.journal.entries() if isinstance(e.event, Replied)]
    assert said[-1] == said[-2]
    assert "W60" in said[-1]


def test_a_typed_note_that_was_corrected_to_nothing_is_told_all_the_same(tmp_path: Path) -> None:
    """Nothing of it is left to read, and the talk goes on."""
    lines = ["yes", "yes", "take a note", "Bent.", "end note"]
    with JobFolder.create(tmp_path, "job", TEXT) as folder:
        run_text(conductor_of(folder), lines, WallClock())
        correct(folder, 1, "", who="Sam", now=START)
        run_text(conductor_of(folder), ["last note", "next"], WallClock())
        said = [e.event.words for e in folder.journal.entries() if isinstance(e.event, Replied)]
    told, last = said[-2:]
    assert told.startswith("Note one,")
    assert told.endswith("at step one.")
    assert last == "That was the last note."


def test_typed_notes_are_played_as_their_text(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """What plays the notes of a job reads what was typed behind what introduces it."""
    told, mouth = list[str | PlayNote](), NoMouth()
    route = route_through(parse_procedure(TEXT, name="test"))
    monkeypatch.setattr(mouth, "say", lambda pieces, **_how: told.extend(pieces))
    with JobFolder.create(tmp_path, "job", TEXT) as folder:
        run_text(conductor_of(folder), ["yes", "yes", "take a note", "Bent.", "end note"], WallClock())
        notes = replay(folder.journal.entries()).notes
        play(route, folder, notes, mouth, load_phrasebook(), now=START, pace=1.0)
    (words,) = told
    assert str(words).startswith("note one,")
    assert str(words).endswith("Bent.")
