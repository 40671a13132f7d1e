"""The voices of a shop's mechanics."""

from collections.abc import Iterator
from datetime import date
from pathlib import Path

import numpy as np
import pytest

from assistant.errors import HearingError
from assistant.hearing.endpointing import Utterance
from assistant.hearing.engine import Decoded, Guess
from assistant.hearing.grammar import Grammar, combined, load_grammar, modes, words_of
from assistant.hearing.recogniser import Recognised, Recogniser
from assistant.hearing.sources import FileSource
from assistant.hearing.templates import Templates, course, distance
from assistant.sound import RATE, Samples, join, silence, write_sound
from assistant.speaking.engines.espeak import EspeakVoice
from assistant.work import reading as reading_room
from assistant.work import voices
from assistant.work.reading import COMMANDS, prompted, read_commands
from assistant.work.voices import MOST, USUAL, keep, known_voice, learn

DAY = date(2026, 3, 2)
ALL = combined([load_grammar(mode) for mode in modes()], "all")


@pytest.fixture(autouse=True)
def _data(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Keep voices apart from the user's."""
    monkeypatch.setattr(voices, "user_data", lambda: tmp_path)


def said(words: str, pace: float = 1.0) -> Samples:
    """Say words."""
    return EspeakVoice().render(words, pace=pace).at(RATE).samples


def reading(words: str, confidence: float) -> Recognised:
    """Make a reading that was heard right."""
    sound = said(words)
    return Recognised(
        heard=words_of(words),
        intents=(),
        accepted=True,
        confidence=confidence,
        engine="whisper",
        start_s=0,
        end_s=len(sound) / RATE,
        utterance=Utterance(sound, 0, len(sound) / RATE),
    )


READ = COMMANDS[:10]


@pytest.mark.parametrize(("confidence", "ease"), [(0.5, MOST), (0.9999, 0.0), (0.9608, 0.0)])
def test_a_voice_is_raised_to_the_usual_and_no_further(confidence: float, ease: float) -> None:
    """A voice heard less surely than others needs less, one heard more surely no more."""
    voice = learn("A", "whisper", [reading(words, confidence) for words in READ], today=DAY)
    assert voice.ease["whisper"] == pytest.approx(ease, abs=0.01)
    assert set(voice.courses) == {" ".join(words_of(words)) for words in READ}


def test_too_few_readings_and_other_engines_are_refused() -> None:
    """What was not measured, or says nothing, is not kept."""
    with pytest.raises(HearingError, match="only 2 commands"):
        learn("A", "whisper", [reading("done", 0.9)] * 2, today=DAY)
    with pytest.raises(HearingError, match="not measured"):
        learn("A", "vosk", [], today=DAY)
    assert "whisper" in USUAL


def test_voices_are_kept_by_name() -> None:
    """The only one is taken by itself; of several, the one that is named."""
    assert known_voice(None) is None
    anna = learn("Anna B.", "whisper", [reading(words, 0.9) for words in READ], today=DAY)
    keep(anna)
    assert known_voice(None) == known_voice("Anna B.") == anna
    keep(anna.model_copy(update={"name": "Ben"}))
    assert known_voice(None) is None
    with pytest.raises(HearingError, match=r"Anna B\., Ben"):
        known_voice("Carl")


def test_the_same_words_are_nearer_than_others_at_any_pace() -> None:
    """A reading is found again where it is said faster or slower."""
    read = {words: course(said(words)) for words in ("done", "next", "where am i", "take a note")}
    templates = Templates({words: found for words, found in read.items() if found is not None})
    for words in read:
        assert templates.nearest(said(words, 1.2)) == words
    done = templates.courses["done"]
    assert distance(done, done) == 0.0


def test_what_is_too_short_or_like_several_is_like_none() -> None:
    """A click has no course, and a doubled reading no nearest."""
    templates = Templates({"done": np.ones((5, 12), np.float32), "next": np.ones((5, 12), np.float32)})
    assert templates.nearest(np.zeros(100, np.float32)) == ""
    assert templates.nearest(said("done")) == ""
    assert Templates({}).nearest(said("done")) == ""


class Doubting:
    """An engine that hears these words, and is not sure."""

    name = "whisper"

    def __init__(self, words: str) -> None:
        self._words = tuple(words.split())

    def decode(self, samples: Samples, grammar: Grammar) -> Decoded:
        """Hear the words so that acceptance asks again."""
        del samples, grammar
        return Decoded(
            guesses=(Guess(words=self._words, score=-2.0),),
            free=Guess(words=(), score=0.0),
            signals={"fit": -2.5},
        )

    def unknown(self, words: object) -> tuple[str, ...]:
        """Know every word."""
        del words
        return ()


@pytest.mark.parametrize(("heard", "accepted"), [("done", True), ("next", False), ("undo", False)])
def test_a_reading_settles_a_doubt_unless_it_is_grave(heard: str, *, accepted: bool) -> None:
    """Engine and reading must agree; undo is not taken on that."""
    found = {words: course(said(words)) for words in ("done", "next", "undo")}
    templates = Templates({words: each for words, each in found.items() if each is not None})
    spoken = said("undo" if heard == "undo" else "done")
    utterance = Utterance(spoken, 0, len(spoken) / RATE)
    plain = Recogniser(Doubting(heard)).recognise(utterance, ALL)
    assert (plain.accepted, plain.asked) == (False, True)
    assert Recogniser(Doubting(heard), templates=templates).recognise(utterance, ALL).accepted is accepted


def test_every_command_to_be_read_can_be_said() -> None:
    """The list fits the grammars."""
    assert [command for command in COMMANDS if ALL.match(words_of(command)) is None] == []


def test_each_command_is_prompted_and_none_is_waited_for_forever() -> None:
    """Who says nothing is shown one command after the other."""

    class Silence:
        def blocks(self) -> Iterator[Samples]:
            """Give silence without end."""
            while True:
                yield np.zeros(512, np.float32)

    class Deaf(Doubting):
        def probability(self, block: Samples) -> float:
            """Hear no speech."""
            return float(block[0])

    shown: list[str] = []
    assert list(prompted(Silence(), Recogniser(Deaf("done")), ALL, shown.append)) == []
    assert shown == [f"Say: {command}" for command in COMMANDS]


class Reading(Doubting):
    """An engine that hears without doubt what it is told that the recording is of."""

    def __init__(self) -> None:
        super().__init__("")
        self.words: tuple[str, ...] = ()

    def opened(self, path: Path) -> FileSource:
        """Open a recording; the one of "undo" is heard otherwise."""
        self.words = words_of("cancel" if path.stem == "undo" else path.stem.replace("-", " "))
        return FileSource(path)

    def decode(self, samples: Samples, grammar: Grammar) -> Decoded:
        """Hear it."""
        del samples, grammar
        return Decoded(guesses=(Guess(words=self.words, score=0.0),), free=Guess(words=self.words, score=0.0))


def test_a_folder_of_recordings_makes_a_voice_known(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Each recording is called by what is read in it; what was heard otherwise does not count."""
    engine, shown = Reading(), list[str]()
    monkeypatch.setattr(reading_room, "open_recogniser", lambda *_name, **_model: Recogniser(engine))
    monkeypatch.setattr(reading_room, "FileSource", engine.opened)
    recordings = tmp_path / "recordings"
    recordings.mkdir()
    with pytest.raises(HearingError, match="no recording"):
        read_commands("Anna", recordings, engine=None, model=None, show=shown.append)
    for command in (*READ, "undo"):
        whole = join([silence(0.5), EspeakVoice().render(command), silence(0.5)])
        write_sound(recordings / f"{'-'.join(words_of(command))}.wav", whole)
    voice, file = read_commands("Anna", recordings, engine=None, model=None, show=shown.append)
    assert set(voice.courses) == {" ".join(words_of(command)) for command in READ}
    assert file.is_file()
    assert known_voice("Anna") == voice


def test_what_is_read_when_it_is_asked_for_is_learned(monkeypatch: pytest.MonkeyPatch) -> None:
    """The microphone's way: each command is shown, read, and heard; one that is misread is told and passed over."""

    class Reader(Reading):
        """A microphone at which what is shown is read, and an engine that hears it; "undo" is misread."""

        def __init__(self) -> None:
            super().__init__()
            self.shown: list[str] = []
            self._sound = np.zeros(0, np.float32)

        def show(self, words: str) -> None:
            """Read what is asked for."""
            self.shown.append(words)
            if words.startswith("Say: "):
                command = words.removeprefix("Say: ")
                self.words = words_of("cancel" if command == "undo" else command)
                self._sound = join([silence(0.6), EspeakVoice().render(command), silence(1.2)]).samples

        def blocks(self) -> Iterator[Samples]:
            """Give what is read, and quiet after it."""
            while True:
                block, self._sound = self._sound[:512], self._sound[512:]
                yield np.pad(block, (0, 512 - len(block)))

    monkeypatch.setattr(reading_room, "COMMANDS", ("done", "undo", "next"))
    reader = Reader()
    found = list(prompted(reader, Recogniser(reader), ALL, reader.show))
    assert [each.heard for each in found] == [("done",), ("next",)]
    assert reader.shown == ["Say: done", "Say: undo", "  (not understood; the next)", "Say: next"]


def test_an_engine_that_does_not_gain_is_refused_before_anything_is_read(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """Nobody reads for two minutes in vain."""
    engine = Reading()
    monkeypatch.setattr(engine, "name", "pocketsphinx", raising=False)
    monkeypatch.setattr(reading_room, "open_recogniser", lambda *_name, **_model: Recogniser(engine))
    with pytest.raises(HearingError, match="not measured for pocketsphinx"):
        read_commands("Anna", tmp_path / "nowhere", engine=None, model=None, show=lambda _words: None)
