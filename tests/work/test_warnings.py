"""What is told of noise, of a microphone that is overdriven, and of speech that is too faint."""

from dataclasses import replace

import numpy as np
import pytest

from assistant.hearing.endpointing import Utterance
from assistant.hearing.floor import NoiseFloor
from assistant.hearing.press import Press
from assistant.hearing.recogniser import Recognised
from assistant.hearing.sources import BLOCK
from assistant.sound import RATE
from assistant.work import aids
from assistant.work.aids import FaintAid, NoiseAid
from tests.work.benches import QUIET, Bench, accepted, refused


def test_hopeless_noise_is_warned_of_once_until_it_was_good_again(bench: Bench) -> None:
    """One warning, however long the grinder runs; another for the next grinder."""
    rng, aid = np.random.default_rng(1), NoiseAid()
    for level, warnings in ((1e-3, 0), (0.3, 1), (0.3, 0), (1e-3, 0), (0.3, 1)):
        for _ in range(round(12 * RATE / BLOCK)):
            aid.look((level * rng.standard_normal(BLOCK)).astype(np.float32), bench.conductor)
        said = bench.said()
        assert len(said) == warnings
        assert all("too loud" in words for words in said)


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
