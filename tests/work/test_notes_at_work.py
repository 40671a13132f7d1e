"""Notes and pictures in a running job: what the conductor does with sound, silence, a kill, a camera."""

import multiprocessing
import sys
from datetime import UTC, datetime, timedelta, timezone
from multiprocessing.connection import Connection
from pathlib import Path

import numpy as np
import pytest
import soundfile

from assistant.dialogue.intents import Intent
from assistant.dialogue.phrasing import load_phrasebook
from assistant.errors import AssistantError
from assistant.hearing.recogniser import Recognised
from assistant.hearing.sources import BLOCK
from assistant.job.events import JobOpened, NoteEnded, NoteTranscribed, PictureTaken, Refused, Replied
from assistant.job.fold import replay
from assistant.job.folder import JobFolder
from assistant.procedure.load import parse_procedure
from assistant.procedure.route import route_through
from assistant.sound import RATE, Samples
from assistant.speaking.mouth import NoMouth
from assistant.work import note_taking, session
from assistant.work.camera import Camera
from assistant.work.clock import MovedClock
from assistant.work.conductor import Conductor
from assistant.work.job_notes import begins_at
from assistant.work.note_taking import KEPT_SILENCE_S, PREROLL_S, SILENCE_S, NoteTaking
from tests.record.sample import PROCEDURE

START = datetime(2031, 3, 4, 8, tzinfo=UTC)
TEXT = PROCEDURE.read_text(encoding="utf-8")


class Loud:
    """A detector that takes any block that is not silent for speech."""

    def probability(self, block: Samples) -> float:
        """Give 1 for sound, 0 for silence."""
        return float(np.abs(block).max() > 0)

    def reset(self) -> None:
        """Have nothing to forget."""


@pytest.fixture(autouse=True)
def _quick_detector(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(note_taking.NoteTaking.__init__, "__defaults__", (Loud,))


def heard(*words: str, intent: str = "") -> Recognised:
    """Give an utterance that was heard without doubt, or one that makes no sense."""
    return Recognised(
        heard=words,
        intents=(Intent(name=intent or "not-understood"),),
        accepted=bool(intent),
        asked=not intent,
        confidence=1.0,
        engine="test",
        start_s=0.0,
        end_s=0.4,
    )


def conductor_of(folder: JobFolder, camera: Camera | None = None) -> Conductor:
    """Give a conductor that speaks nowhere, on a clock that stands."""
    route = route_through(parse_procedure(TEXT, name="test"))
    clock = MovedClock(START)
    return Conductor(route, folder, mouth=NoMouth(), book=load_phrasebook(), clock=clock, camera=camera)


def begun(folder: JobFolder, camera: Camera | None = None) -> Conductor:
    """Give the same, past the opening questions."""
    conductor = conductor_of(folder, camera)
    conductor.begin()
    conductor.take(heard("yes", intent="yes"))
    conductor.take(heard("yes", intent="yes"))
    return conductor


def blocks(seconds: float, level: float = 0.25) -> list[Samples]:
    """Give blocks of steady sound."""
    return [np.full(BLOCK, level, dtype=np.float32)] * round(seconds * RATE / BLOCK)


def feed(conductor: Conductor, seconds: float, level: float = 0.25) -> None:
    """Let the conductor hear steady sound for a while."""
    for block in blocks(seconds, level):
        conductor.sound(block)


def test_job_knows_the_clock_it_began_by(tmp_path: Path) -> None:
    """How far the clock on the wall is from UTC goes into the journal, which itself keeps UTC."""
    with JobFolder.create(tmp_path, "zone", TEXT) as folder:
        here = timezone(timedelta(hours=-3, minutes=-30))
        clock = MovedClock(START.astimezone(here))
        route = route_through(parse_procedure(TEXT, name="test"))
        Conductor(route, folder, mouth=NoMouth(), book=load_phrasebook(), clock=clock).begin()
        opened = next(folder.journal.entries())
    assert isinstance(opened.event, JobOpened)
    assert (opened.event.utc_offset_min, opened.at.utcoffset()) == (-210, timedelta())


def test_a_note_has_the_half_second_before_it_and_ends_before_its_end_words(tmp_path: Path) -> None:
    """What was heard up to half a second before a note is in it; the words that end it are not."""
    with JobFolder.create(tmp_path, "job", TEXT) as folder:
        conductor = begun(folder)
        feed(conductor, 2.0, level=0.125)
        conductor.take(heard("note", intent="note"))
        feed(conductor, 2.0)
        conductor.take(heard("end", "note", intent="note-end"))
        samples, rate = soundfile.read(folder.sound / "note-0001.flac")
    assert rate == RATE
    before = np.count_nonzero(np.isclose(samples, 0.125))
    assert abs(before / RATE - PREROLL_S) < 2 * BLOCK / RATE
    assert abs(len(samples) / RATE - (PREROLL_S + 2.0 - 0.9)) < 2 * BLOCK / RATE


def test_a_long_silence_ends_a_note(tmp_path: Path) -> None:
    """After a silence the note is over, without most of the silence, and the journal says how it ended."""
    with JobFolder.create(tmp_path, "job", TEXT) as folder:
        conductor = begun(folder)
        conductor.take(heard("note", intent="note"))
        feed(conductor, 1.0)
        feed(conductor, SILENCE_S - 0.5, level=0.0)
        feed(conductor, 1.0)
        assert conductor.state.open_note is not None
        feed(conductor, SILENCE_S + 0.1, level=0.0)
        assert conductor.state.open_note is None
        (ended,) = (e.event for e in folder.journal.entries() if isinstance(e.event, NoteEnded))
        kept = soundfile.info(folder.sound / "note-0001.flac").duration
    assert ended.by == "silence"
    assert kept == pytest.approx(2.0 + SILENCE_S - 0.5 + KEPT_SILENCE_S, abs=0.1)
    assert ended.seconds == pytest.approx(kept, abs=0.1)


def test_nothing_is_a_command_while_a_note_is_recorded(tmp_path: Path) -> None:
    """What is said into a note is neither acted on nor asked again, and only the end words are listened for."""
    with JobFolder.create(tmp_path, "job", TEXT) as folder:
        conductor = begun(folder)
        conductor.take(heard("note", intent="note"))
        assert conductor.grammar().phrases(10) == ("end note", "end of note")
        before = conductor.state
        conductor.take(heard("done", "next"))
        conductor.tick()
        assert conductor.state.done == before.done
        assert conductor.state.open_note is not None
        last = list(folder.journal.entries())[-1].event
        conductor.close()
    assert not isinstance(last, Replied)


def test_what_is_said_into_a_note_is_not_counted_as_refused(tmp_path: Path) -> None:
    """What belongs to a note is in its sound, and nowhere among what was heard and refused."""
    with JobFolder.create(tmp_path, "job", TEXT) as folder:
        conductor = begun(folder)
        conductor.take(heard("note", intent="note"))
        conductor.take(heard("done", "next"))
        conductor.take(heard("end", "note", intent="note-end"))
        conductor.take(heard("done", "done"))
        refused = [e.event.words for e in folder.journal.entries() if isinstance(e.event, Refused)]
    assert refused == ["done done"]


def record_for_ever(jobs: Path, told: Connection) -> None:
    """Work a job in which a note is spoken without end, telling the samples after each block."""
    note_taking.NoteTaking.__init__.__defaults__ = (Loud,)
    with JobFolder.create(jobs, "job", TEXT) as folder:
        conductor = begun(folder)
        conductor.take(heard("note", intent="note"))
        for number, block in enumerate(blocks(600), start=1):
            conductor.sound(block)
            told.send(number * BLOCK)


@pytest.mark.skipif(sys.platform == "win32", reason="SIGKILL and the fork server are of POSIX")
@pytest.mark.parametrize("count", [1, 40])
def test_a_kill_in_the_middle_of_a_note_keeps_it(tmp_path: Path, count: int) -> None:
    """After a kill the note is there as far as it went, and the job says so when it is taken up."""
    context = multiprocessing.get_context("forkserver")
    context.set_forkserver_preload([__name__])
    receiving, sending = context.Pipe(duplex=False)
    process = context.Process(target=record_for_ever, args=(tmp_path, sending))
    process.start()
    sending.close()
    for _ in range(count):
        told = receiving.recv()
    process.kill()
    process.join()
    receiving.close()
    assert process.exitcode == -9
    with JobFolder.open(tmp_path, "job") as folder:
        assert folder.journal.verify() is None
        conductor = conductor_of(folder)
        conductor.begin()
        (note,) = conductor.state.notes
        samples, rate = soundfile.read(folder.sound / note.file)
    assert "Note one was cut off" in conductor.state.last_reply
    assert note.ended_by == "cut off"
    assert rate == RATE
    assert len(samples) >= told
    assert note.seconds == pytest.approx(len(samples) / RATE, abs=0.001)
    assert np.allclose(samples, 0.25)


def test_a_note_that_was_open_at_the_end_keeps_its_length(tmp_path: Path) -> None:
    """A program that ends in good order in the middle of a note leaves it whole, and knows its length."""
    with JobFolder.create(tmp_path, "job", TEXT) as folder:
        conductor = begun(folder)
        conductor.take(heard("note", intent="note"))
        feed(conductor, 1.5)
        conductor.close()
        again = conductor_of(folder)
        again.begin()
    assert again.state.notes[0].seconds == pytest.approx(1.5, abs=0.1)


CAMERA = f"{sys.executable} -c \"import sys; open(sys.argv[1], 'wb').write(b'picture')\" {{file}}"


def test_a_picture_is_kept_like_a_note(tmp_path: Path) -> None:
    """The camera's command takes a picture, which is tied to the step."""
    with JobFolder.create(tmp_path, "job", TEXT) as folder:
        conductor = begun(folder, Camera(CAMERA))
        conductor.take(heard("picture", intent="picture"))
        (taken,) = (e.event for e in folder.journal.entries() if isinstance(e.event, PictureTaken))
        assert (folder.pictures / taken.file).read_bytes() == b"picture"
    assert (taken.picture, taken.step) == (1, "make-safe")
    assert conductor.state.last_reply == "Picture one is kept."


@pytest.mark.parametrize(
    ("command", "answer"),
    [
        (None, "No camera is set."),
        ("false {file}", "The camera gave no picture."),
        ("true {file}", "The camera gave no picture."),
        ("no-such-camera {file}", "The camera gave no picture."),
    ],
)
def test_no_picture_is_said(tmp_path: Path, command: str | None, answer: str) -> None:
    """Without a camera, or with one that fails, the assistant says so and the work goes on."""
    with JobFolder.create(tmp_path, "job", TEXT) as folder:
        conductor = begun(folder, Camera(command) if command else None)
        conductor.take(heard("picture", intent="picture"))
    assert conductor.state.last_reply == answer
    assert conductor.state.pictures == ()


@pytest.mark.parametrize("command", ["fswebcam", "fswebcam '{file}"])
def test_a_camera_command_must_say_where_the_picture_goes(command: str) -> None:
    """A command without the file, or that cannot be read, is refused before the job begins."""
    with pytest.raises(AssistantError, match="camera's command"):
        Camera(command)


def test_a_note_is_never_begun_by_blocks_alone(tmp_path: Path) -> None:
    """Sound that is heard outside a note is forgotten after half a second."""
    taking = NoteTaking(tmp_path)
    assert not any(taking.take(block) for block in blocks(10, level=0.0))
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    ("before", "begins_s"),
    [
        ([(0.3, 1), (0.2, 0)], 0.4),  # "... note", the pause by which it was known to be over
        ([(0.1, 0), (0.2, 1), (0.2, 0)], 0.4),
        ([(0.5, 1)], 0.0),  # begun by a key, in the middle of what was being said
        ([(0.3, 1), (0.05, 0), (0.15, 1)], 0.0),
        ([(0.5, 0)], 0.0),
        ([(0.1, 1)], 0.0),
    ],
)
def test_the_text_of_a_note_begins_after_the_words_that_began_it(
    before: list[tuple[float, int]], begins_s: float
) -> None:
    """The rest of "take a note" in the half second before a note is in its sound, but not in its text."""
    sound = [np.full(round(seconds * RATE), level, np.float32) for seconds, level in (*before, (2.0, 1))]
    begins = begins_at(np.concatenate(sound), Loud())
    assert begins / RATE == pytest.approx(begins_s, abs=0.05)


class Fixed:
    """A writer that always hears the same."""

    name = "fixed"
    rough = False

    def write_down(self, samples: Samples) -> str:
        """Give how many samples there are."""
        return f"{len(samples)} samples"


def test_the_notes_of_a_closed_job_are_written_down(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Notes with sound get a text once; what fails is told, and the job is as it was."""
    with JobFolder.create(tmp_path, "job", TEXT) as folder:
        conductor = begun(folder)
        conductor.take(heard("note", intent="note"))
        feed(conductor, 1.0)
        conductor.close()
        conductor_of(folder).begin()
        monkeypatch.setattr(session, "open_writer", _broken)
        session._write_notes_down(folder, MovedClock(START))
        assert replay(folder.journal.entries()).notes[0].text == ""
        monkeypatch.setattr(session, "open_writer", Fixed)
        session._write_notes_down(folder, MovedClock(START))
        session._write_notes_down(folder, MovedClock(START))
        (note,) = replay(folder.journal.entries()).notes
        texts = [e for e in folder.journal.entries() if isinstance(e.event, NoteTranscribed)]
    assert note.text.endswith("samples")
    assert (note.written_by, len(texts)) == ("fixed", 1)


def _broken() -> Fixed:
    raise AssistantError("no model")
