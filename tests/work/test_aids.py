"""What helps hearing in a job that runs by sound."""

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest

from assistant.dialogue.intents import Intent
from assistant.dialogue.phrasing import load_phrasebook
from assistant.hearing.endpointing import Utterance
from assistant.hearing.floor import NoiseFloor
from assistant.hearing.press import Press
from assistant.hearing.recogniser import Recognised
from assistant.hearing.sources import BLOCK
from assistant.job.events import Heard, Refused, Replied
from assistant.job.folder import JobFolder
from assistant.procedure.load import find_procedure, load_procedure, read_text
from assistant.procedure.route import route_through
from assistant.sound import RATE
from assistant.speaking.mouth import NoMouth
from assistant.work import aids
from assistant.work.aids import FaintAid, KeyAid, MicrophoneAid, NoiseAid
from assistant.work.calling import Calling
from assistant.work.clock import MovedClock
from assistant.work.conductor import Conductor
from assistant.work.keeping import RefusedSound
from assistant.work.keys import KEYS, Keys

QUIET = np.full(BLOCK, 1e-4, np.float32)
NAME = "generator-set-head"


@dataclass
class Bench:
    """A job that has begun, with what was kept of it."""

    conductor: Conductor
    folder: JobFolder
    clock: MovedClock
    seen: int = field(default=0)

    def new(self) -> list[object]:
        """Give the events since the last look."""
        events = [entry.event for entry in self.folder.journal.entries()]
        fresh, self.seen = events[self.seen :], len(events)
        return list(fresh)

    def said(self) -> list[str]:
        """Give what was said since the last look."""
        return [event.words for event in self.new() if isinstance(event, Replied)]


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[Bench]:
    """Open a job that keeps refused sound and has a name."""
    path = find_procedure(NAME)
    route = route_through(load_procedure(path), "short")
    clock = MovedClock(datetime(2026, 3, 2, 8, tzinfo=UTC))
    with JobFolder.create(tmp_path, "job", read_text(path), None) as folder:
        conductor = Conductor(
            route,
            folder,
            mouth=NoMouth(),
            book=load_phrasebook(),
            clock=clock,
            calling=Calling(name="workbench", always=True),
            keeper=RefusedSound(folder.path),
        )
        conductor.begin()
        made = Bench(conductor, folder, clock)
        made.new()
        yield made


def refused(*, asked: bool) -> Recognised:
    """Make an utterance that was not accepted."""
    return Recognised(
        heard=("done",),
        intents=(Intent(name="not-understood"),),
        accepted=False,
        asked=asked,
        confidence=0.3,
        engine="whisper",
        start_s=0,
        end_s=1,
        utterance=Utterance(np.zeros(RATE, np.float32), 0, 1),
    )


def test_a_key_is_a_command_without_the_name(bench: Bench) -> None:
    """A pedal says what stands in the table; what makes no sense now changes nothing."""
    keys = Keys()
    aid = KeyAid(keys, {**KEYS, "a": "yes"}, Press())
    keys.put("a")
    keys.put("x")
    aid.look(QUIET, bench.conductor)
    heard = [event for event in bench.new() if isinstance(event, Heard)]
    assert [(event.words, event.engine) for event in heard] == [("yes", "key")]
    keys.put("enter")
    aid.look(QUIET, bench.conductor)
    assert [type(event) for event in bench.new()] == [Refused, Replied]


def test_the_key_to_talk_begins_and_ends(bench: Bench) -> None:
    """It does nothing but say from when to when speech counts."""
    keys, press = Keys(), Press()
    aid = KeyAid(keys, KEYS, press)
    keys.put("space")
    aid.look(QUIET, bench.conductor)
    assert press.is_on
    assert bench.new() == []


def test_a_dead_microphone_is_told_once_and_so_is_its_return(bench: Bench) -> None:
    """At once when it goes, and when it is back; the pending question stays as it was."""

    class Stub:
        is_deaf = False

    stub, question = Stub(), bench.conductor.state.question
    aid = MicrophoneAid(stub)  # type: ignore[arg-type]
    for deaf, told in ((False, []), (True, ["I hear nothing"]), (False, ["I hear again"])):
        stub.is_deaf = deaf
        aid.look(QUIET, bench.conductor)
        aid.look(QUIET, bench.conductor)
        said = bench.said()
        assert len(said) == len(told)
        assert all(words.startswith(begun) for words, begun in zip(said, told, strict=True))
    assert bench.conductor.state.question == question


def test_hopeless_noise_is_warned_of_once_until_it_was_good_again(bench: Bench) -> None:
    """One warning, however long the grinder runs; another for the next grinder."""
    rng, aid = np.random.default_rng(1), NoiseAid()
    for level, warnings in ((1e-3, 0), (0.3, 1), (0.3, 0), (1e-3, 0), (0.3, 1)):
        for _ in range(round(12 * RATE / BLOCK)):
            aid.look((level * rng.standard_normal(BLOCK)).astype(np.float32), bench.conductor)
        said = bench.said()
        assert len(said) == warnings
        assert all("too loud" in words for words in said)


def accepted(start_s: float, level: float = 0.05) -> Recognised:
    """Make a command of a second that was understood."""
    return Recognised(
        heard=("repeat",),
        intents=(Intent(name="repeat"),),
        accepted=True,
        confidence=1,
        engine="whisper",
        start_s=start_s,
        end_s=start_s + 1,
        utterance=Utterance(np.full(RATE, level, np.float32), start_s, start_s + 1),
    )


def look(aid: NoiseAid, bench: Bench, level_db: float, seconds: float) -> list[str]:
    """Let the aid hear white noise at a level, cut off at full scale; gives what was said."""
    rng = np.random.default_rng(2)
    for _ in range(round(seconds * RATE / BLOCK)):
        sound = 10 ** (level_db / 20) * rng.standard_normal(BLOCK)
        aid.look(np.clip(sound, -1, 1).astype(np.float32), bench.conductor)
    return bench.said()


def test_noise_that_overdrives_the_microphone_is_told_as_that(bench: Bench) -> None:
    """Not to come closer but to turn it down; when that is done and the noise still drowns everything, that too."""
    aid = NoiseAid()
    (told,) = look(aid, bench, 10, 20)
    assert "too strong" in told
    assert "further away" in told
    (told,) = look(aid, bench, -10, 20)
    assert "noise is too loud" in told
    assert look(aid, bench, -10, 20) == []


def test_a_voice_that_overdrives_the_microphone_is_told_once(bench: Bench) -> None:
    """After two words that were not understood; not again after one that was, so soon."""
    aid = NoiseAid()
    broken = replace(refused(asked=True), utterance=Utterance(np.ones(RATE, np.float32), 0, 1))
    for heard, times in ((broken, 0), (broken, 1), (broken, 0), (accepted(5), 0), (broken, 0), (broken, 0)):
        aid.heard(heard)
        assert len(look(aid, bench, -50, 1)) == times


def test_what_lasts_for_long_is_told_again(bench: Bench, monkeypatch: pytest.MonkeyPatch) -> None:
    """Half an hour of a grinder brings two warnings; here it is a minute that counts as long."""
    monkeypatch.setattr(aids, "AGAIN_S", 60.0)
    assert len(look(NoiseAid(), bench, -10, 55)) == 1
    assert len(look(NoiseAid(), bench, -10, 75)) == 2


class Missed:
    """What is too faint, found when it is told so."""

    def __init__(self) -> None:
        self.next: Recognised | None = None
        self.looked = self.skipped = 0

    def push(self, _block: object, _grammar: object) -> Recognised | None:
        """Give what was put there, once."""
        self.looked += 1
        found, self.next = self.next, None
        return found

    def skip(self) -> None:
        """Count."""
        self.skipped += 1


def test_commands_that_are_too_faint_are_told_once_until_they_were_fine(
    bench: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Turn it up or come closer; what hearing understood by itself is not faint."""
    faint = Missed()
    aid = FaintAid(faint, NoiseFloor(), Press())  # type: ignore[arg-type]
    monkeypatch.setattr(aid._told, "rest_s", 0.0)
    for missed_s, understood_s, times in (
        (10, None, 1),
        (20, None, 0),
        (30, 30.5, 0),
        (40, None, 1),
        (51, 49, 1),
    ):
        if understood_s is not None:
            aid.heard(accepted(understood_s))
        faint.next = accepted(missed_s)
        aid.look(QUIET, bench.conductor)
        said = bench.said()
        assert len(said) == times, missed_s
        assert all("too faint" in words and "come closer" in words for words in said)


def test_nothing_is_too_faint_in_noise_or_while_the_key_to_talk_is_on(bench: Bench) -> None:
    """There the noise is told, and the key has everything heard."""
    faint, press = Missed(), Press()
    aid = FaintAid(faint, NoiseFloor(), press)  # type: ignore[arg-type]
    aid.look(QUIET, bench.conductor)
    press.key()
    aid.look(QUIET, bench.conductor)
    loud = FaintAid(faint, NoiseFloor(floor_db=-40.0), Press())  # type: ignore[arg-type]
    loud.look(QUIET, bench.conductor)
    assert (faint.looked, faint.skipped) == (1, 2)


def test_refused_sound_is_kept_where_it_is_asked_for(bench: Bench) -> None:
    """Each refused utterance has its file, and the journal names it."""
    bench.conductor.take(refused(asked=True))
    bench.conductor.take(refused(asked=False))
    files = [event.file for event in bench.new() if isinstance(event, Refused)]
    assert files == ["refused/00001.flac", "refused/00002.flac"]
    assert all((bench.folder.path / file).is_file() for file in files)


def test_no_sound_is_kept_without_being_asked(tmp_path: Path) -> None:
    """A job without --keep-sound holds no sound but its notes."""
    path = find_procedure(NAME)
    clock = MovedClock(datetime(2026, 3, 2, 8, tzinfo=UTC))
    with JobFolder.create(tmp_path, "job", read_text(path), None) as folder:
        conductor = Conductor(
            route_through(load_procedure(path), "short"),
            folder,
            mouth=NoMouth(),
            book=load_phrasebook(),
            clock=clock,
        )
        conductor.begin()
        for _ in range(40):
            conductor.sound(QUIET)
        conductor.take(refused(asked=True))
        conductor.take(refused(asked=False))
        conductor.close()
    kept = {file.suffix for file in folder.path.rglob("*") if file.is_file()}
    assert not kept & {".flac", ".wav", ".part", ".new"}


def test_calm_frees_from_the_name(bench: Bench) -> None:
    """Time passing is told to the name too, and what changed is said."""
    calling = Calling(name="workbench")
    bench.conductor._calling = calling
    for _ in range(2):
        for intent in calling.took(
            Recognised(
                heard=("undo",),
                intents=(Intent(name="undo"),),
                accepted=True,
                confidence=1,
                engine="text",
                start_s=0,
                end_s=0,
            ),
            bench.clock.now(),
        ):
            bench.conductor.tell(intent)
    bench.clock.pass_time(timedelta(minutes=30).total_seconds())
    bench.conductor.look_at_name()
    begun, ended = bench.said()
    assert "say workbench first" in begun
    assert "need not say workbench" in ended
