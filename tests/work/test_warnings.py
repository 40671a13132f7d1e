"""What is told of noise, of a microphone that is overdriven, and of speech that is too faint."""

from dataclasses import dataclass, field, replace

import numpy as np
import pytest

from assistant.hearing.endpointing import BLOCK_S, Utterance
from assistant.hearing.floor import NoiseFloor
from assistant.hearing.grammar import words_of
from assistant.hearing.press import Press
from assistant.hearing.recogniser import Recognised, typed
from assistant.hearing.sources import BLOCK
from assistant.sound import RATE
from assistant.speaking.mouth import NoMouth
from assistant.work import aid as telling
from assistant.work import sound_aids
from assistant.work.aid import REST_S
from assistant.work.sound_aids import FaintAid, NoiseAid
from tests.work.benches import QUIET, Bench, accepted, refused


def test_hopeless_noise_is_warned_of_once_until_it_was_good_for_a_rest(bench: Bench) -> None:
    """One warning, however long the grinder runs; another for the first grinder after the rest."""
    rng, aid = np.random.default_rng(1), NoiseAid()
    rest_s = sound_aids.LOUD_REST_S
    for level, seconds, warnings in (
        *((1e-3, 12, 0), (0.3, 12, 1), (0.3, 12, 0), (1e-3, 12, 0), (0.3, 12, 0)),
        *((1e-3, rest_s, 0), (0.3, 12, 1)),
    ):
        for _ in range(round(seconds * RATE / BLOCK)):
            aid.look((level * rng.standard_normal(BLOCK)).astype(np.float32), bench.conductor)
        said = bench.said()
        assert len(said) == warnings
        assert all("too loud" in words for words in said)


def test_a_saw_that_stops_for_a_moment_again_and_again_is_told_once_a_rest(bench: Bench) -> None:
    """Twice a minute it is fine; in four minutes that is two warnings, the second when the rest is over."""
    aid = NoiseAid()
    told = [look(aid, bench, level_db, 15) for _ in range(8) for level_db in (-10, -60)]
    assert [len(each) for each in told[::2]] == [1, 0, 0, 0, 1, 0, 0, 0]
    assert not any(told[1::2])


def look(aid: NoiseAid, bench: Bench, level_db: float, seconds: float) -> list[str]:
    """Let the aid hear white noise at a level, cut off at full scale; gives what was said."""
    rng = np.random.default_rng(2)
    for _ in range(round(seconds * RATE / BLOCK)):
        sound = 10 ** (level_db / 20) * rng.standard_normal(BLOCK)
        aid.look(np.clip(sound, -1, 1).astype(np.float32), bench.conductor)
    return bench.said()


@pytest.mark.parametrize("key", ["the space bar", "the key f5", ""])
def test_noise_is_told_with_the_key_to_talk_that_there_is(bench: Bench, key: str) -> None:
    """The key is the one that was set; where there is none, none is spoken of."""
    (told,) = look(NoiseAid(talk_key=key), bench, -10, 15)
    assert (f"press {key} to talk" in told) == bool(key)
    assert ("press" in told) == bool(key)


def test_noise_that_overdrives_the_microphone_is_told_as_that(bench: Bench) -> None:
    """Not to come closer but to turn it down; when that is done and the noise still drowns everything, that too."""
    aid = NoiseAid()
    (told,) = look(aid, bench, 10, 20)
    assert "too strong" in told
    assert "further away" in told
    (told,) = look(aid, bench, -10, 20)
    assert "noise is too loud" in told
    assert look(aid, bench, -10, 20) == []


def test_another_grinder_that_overdrives_it_soon_is_told_as_noise(bench: Bench) -> None:
    """Nobody is told twice in half an hour to turn it down, but nobody is left without a word either."""
    aid = NoiseAid()
    (told,) = look(aid, bench, 10, 40)
    assert "too strong" in told
    assert look(aid, bench, -60, 60) == []
    (told,) = look(aid, bench, 10, 40)
    assert "noise is too loud" in told


def test_a_grinder_right_after_a_command_is_told_as_too_strong_alone(bench: Bench) -> None:
    """The noise is hopeless before ten seconds without a command are over; it waits for them."""
    aid = NoiseAid()
    assert look(aid, bench, -60, 11) == []
    aid.heard(accepted(10))
    (told,) = look(aid, bench, 10, 30)
    assert "too strong" in told


def test_a_voice_that_overdrives_the_microphone_is_told_once(bench: Bench) -> None:
    """After two words that were not understood; not again after one that was, so soon."""
    aid = NoiseAid()
    broken = replace(refused(asked=True), utterance=Utterance(np.ones(RATE, np.float32), 0, 1))
    for heard, times in ((broken, 0), (broken, 1), (broken, 0), (accepted(5), 0), (broken, 0), (broken, 0)):
        aid.heard(heard)
        assert len(look(aid, bench, -50, 1)) == times


def test_what_lasts_for_long_is_told_again(bench: Bench, monkeypatch: pytest.MonkeyPatch) -> None:
    """Half an hour of a grinder brings two warnings; here it is a minute that counts as long."""
    monkeypatch.setattr(telling, "AGAIN_S", 60.0)
    assert len(look(NoiseAid(), bench, -10, 55)) == 1
    assert len(look(NoiseAid(), bench, -10, 75)) == 2


def babble(bench: Bench, *, level_db: float = -50, paused: bool = False) -> list[tuple[int, str]]:
    """Let talk go on and on for three minutes, with a pause at the second one; gives when what was said."""
    talk_s = 0.0
    aid, told = NoiseAid(lambda: talk_s, talk_key="the space bar"), list[tuple[int, str]]()
    if paused:
        bench.conductor.pressed(("pause",))
        bench.new()
    for second in range(180):
        talk_s = second % 60 if second >= 60 else float(second)
        told += [(second, words) for words in look(aid, bench, level_db, 1)]
    return told


def test_voices_without_a_pause_are_told_once(bench: Bench) -> None:
    """Half a minute is no talk at the bench; that they begin again within five minutes is not told again."""
    ((second, told),) = babble(bench)
    assert second == sound_aids.ENDLESS_S
    assert "without a pause" in told
    assert "press the space bar" in told


@pytest.mark.parametrize(("calm_s", "warnings"), [(12, 1), (40, 2)])
def test_voices_that_go_on_are_not_told_at_each_rest(
    bench: Bench, monkeypatch: pytest.MonkeyPatch, calm_s: int, warnings: int
) -> None:
    """The own voice cuts the talk, but ends no radio; a calm does. Here a minute is the rest."""
    monkeypatch.setattr(sound_aids, "REST_S", 60.0)
    talk_s = 0.0
    aid, told = NoiseAid(lambda: talk_s), list[str]()
    for second in (*range(45), *[0] * calm_s, *range(11, 100)):
        talk_s = float(second)
        told += look(aid, bench, -50, 1)
    assert len(told) == warnings


def test_voices_without_a_pause_that_are_louder_than_the_mechanic_are_told_as_noise(bench: Bench) -> None:
    """One warning, not two."""
    ((second, told),) = [each for each in babble(bench, level_db=-15) if each[0] < 60]
    assert second < sound_aids.ENDLESS_S
    assert "too loud" in told


def test_voices_in_a_pause_are_let_be(bench: Bench) -> None:
    """Nobody works then, and the radio may play."""
    while bench.conductor.state.question is not None:
        bench.conductor.pressed(("yes",))
    assert babble(bench, paused=True) == []


@pytest.mark.parametrize(("talk_s", "pause_s"), [(29.0, 0), (90.0, 1)])
def test_a_bench_that_talks_is_never_told(bench: Bench, talk_s: float, pause_s: float) -> None:
    """Its talk ends within half a minute; or, where hearing finds no end, its level has pauses all the same."""
    aid = NoiseAid(lambda: talk_s)
    for _ in range(20):
        assert look(aid, bench, -30, 2) + look(aid, bench, -60, pause_s) == []


class Missed:
    """What is too faint, found when it is told so."""

    def __init__(self) -> None:
        self.next: Recognised | None = None
        self.looked = self.skipped = 0

    def push(self, _block: object, _grammar: object, *, understood_s: float) -> Recognised | None:  # noqa: ARG002
        """Give what was put there, once."""
        self.looked += 1
        found, self.next = self.next, None
        return found

    def skip(self) -> None:
        """Count."""
        self.skipped += 1


@dataclass
class Shop:
    """A quiet shop in which things are said too faintly, with the aid that looks on."""

    bench: Bench
    press: Press = field(default_factory=Press)
    floor: NoiseFloor = field(default_factory=NoiseFloor)

    def __post_init__(self) -> None:
        self.faint = Missed()
        self.aid = FaintAid(self.faint, self.floor, self.press)  # type: ignore[arg-type]

    def wait(self, seconds: float) -> None:
        """Let time pass."""
        for _ in range(round(seconds / BLOCK_S)):
            self.aid.look(QUIET, self.bench.conductor)

    def miss(self, *waits_s: float) -> list[str]:
        """Let commands be missed, each after so many seconds; gives what was said."""
        for wait_s in waits_s:
            self.wait(wait_s)
            self.faint.next = accepted(0)
            self.wait(BLOCK_S)
        return self.bench.said()

    def is_listening(self) -> bool:
        """Tell whether it listens to the next block."""
        before = self.faint.looked
        self.wait(BLOCK_S)
        return self.faint.looked > before


def test_two_commands_that_are_too_faint_within_a_minute_are_told_once(bench: Bench) -> None:
    """One is a colleague's across the shop; what is told is to turn it up or come closer."""
    shop = Shop(bench)
    assert shop.miss(1) == []
    assert shop.miss(61) == []
    (told,) = shop.miss(20)
    assert "too faint" in told
    assert "come closer" in told
    assert shop.miss(5, 5, 5) == []


def test_nothing_is_too_faint_where_something_was_understood_between(bench: Bench) -> None:
    """By voice or by key, what is understood begins the count anew."""
    shop = Shop(bench)
    for heard in (accepted(2), typed(("repeat",), bench.conductor.grammar_pressed())):
        assert shop.miss(1) == []
        shop.aid.heard(heard)
    assert shop.miss(1) == []
    assert len(shop.miss(1)) == 1


def test_what_was_missed_and_told_is_forgotten(bench: Bench, monkeypatch: pytest.MonkeyPatch) -> None:
    """It is told again only for new ones; here a minute and a half counts as long."""
    monkeypatch.setattr(telling, "AGAIN_S", 90.0)
    shop = Shop(bench)
    assert len(shop.miss(1, 1)) == 1
    assert shop.miss(1, 1) == []
    shop.wait(200)
    assert bench.said() == []
    assert shop.miss(1) == []
    assert len(shop.miss(1)) == 1


@pytest.mark.parametrize("understood_at_s", [20, 290])
def test_what_was_mended_and_is_wrong_again_is_told_after_a_rest(bench: Bench, understood_at_s: int) -> None:
    """Not within five minutes, whenever in them something was understood."""
    shop = Shop(bench)
    assert len(shop.miss(1, 1)) == 1
    shop.wait(understood_at_s)
    shop.aid.heard(accepted(understood_at_s))
    shop.wait(REST_S - 5 - understood_at_s)
    assert shop.miss(1, 1) == []
    assert len(shop.miss(5)) == 1


def test_nothing_is_too_faint_in_noise_or_where_a_key_is_for_talk(bench: Bench) -> None:
    """In noise the noise is told; what is said with the key is heard, and without it, where that is asked for, not."""
    shop = Shop(bench)
    assert shop.is_listening()
    shop.press.key()
    assert not shop.is_listening()
    assert not Shop(bench, press=Press(only=True)).is_listening()
    assert not Shop(bench, floor=NoiseFloor(floor_db=-40.0)).is_listening()


def test_the_echo_of_the_own_voice_is_not_listened_to(bench: Bench, monkeypatch: pytest.MonkeyPatch) -> None:
    """Nor is the voice itself, and for a second after it the room is let be."""
    shop = Shop(bench)
    with monkeypatch.context() as speaking:
        speaking.setattr(NoMouth, "speaking", property(lambda _self: True))
        assert not shop.is_listening()
    assert not shop.is_listening()
    shop.wait(sound_aids.AFTER_VOICE_S)
    assert shop.is_listening()


def test_nothing_is_too_faint_in_a_pause_or_into_a_note(bench: Bench) -> None:
    """What is said then is not for the assistant."""
    shop = Shop(bench)
    while bench.conductor.state.question is not None:
        bench.conductor.pressed(("yes",))
    for begins, ends in (("pause", "resume"), ("take a note", "end note")):
        bench.conductor.pressed(words_of(begins))
        assert not shop.is_listening()
        bench.conductor.pressed(words_of(ends))
        assert shop.is_listening()
