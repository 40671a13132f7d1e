"""What helps hearing in a job that runs by sound."""

from contextlib import ExitStack
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from io import StringIO
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from assistant.dialogue.helping import REMINDED_AT
from assistant.dialogue.intents import Intent
from assistant.dialogue.phrasing import load_phrasebook
from assistant.hearing.endpointing import Endpointer
from assistant.hearing.floor import NoiseFloor
from assistant.hearing.grammar import combined, load_grammar
from assistant.hearing.press import Press
from assistant.hearing.recogniser import Recognised, Recogniser
from assistant.hearing.sources import FileSource
from assistant.job.events import Heard, Refused, Replied
from assistant.job.folder import JobFolder
from assistant.procedure.load import find_procedure, load_procedure, read_text
from assistant.procedure.route import route_through
from assistant.sound import silence, write_sound
from assistant.speaking.mouth import NoMouth
from assistant.work import session
from assistant.work.aid import Aid
from assistant.work.aids import ElsewhereAid, KeyAid, QuestionAid
from assistant.work.calling import Calling
from assistant.work.clock import MovedClock
from assistant.work.conductor import Conductor
from assistant.work.habits import Habits
from assistant.work.keys import KEYS, Keys
from assistant.work.session import Doors, _aids, work_job
from assistant.work.sound_aids import MicrophoneAid, NoiseAid
from tests.hearing.test_ear import Scripted
from tests.work.benches import NAME, QUIET, Bench, accepted, refused


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


def test_a_command_from_a_key_counts_as_understood_for_the_other_aids(bench: Bench) -> None:
    """What was missed before it is no trouble any more; a key that makes no sense now is none."""
    told: list[Recognised] = []

    class Other(Aid):
        def heard(self, heard: Recognised) -> None:
            told.append(heard)

    keys = Keys()
    aid = KeyAid(keys, {**KEYS, "a": "yes"}, Press(), (Other(),))
    for key in ("a", "space", "enter"):
        keys.put(key)
    aid.look(QUIET, bench.conductor)
    assert [(heard.heard, heard.accepted) for heard in told] == [(("yes",), True), (("next",), False)]


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


def reminders(bench: Bench, heard: Recognised, times: int) -> list[int]:
    """Hear the same so many times, and give after which of them something was said."""
    aid = QuestionAid()
    said = []
    for number in range(1, times + 1):
        bench.conductor.take(heard)
        aid.look(QUIET, bench.conductor)
        aid.look(QUIET, bench.conductor)
        said += [number] * len(bench.said())
    return said


def test_talk_brings_a_pending_question_back_at_the_third_time_and_then_ever_more_seldom(
    bench: Bench,
) -> None:
    """Who answered and was not heard is reminded; a long talk with a helper is not answered all the time."""
    assert reminders(bench, refused(asked=False), 200) == list(REMINDED_AT)
    assert REMINDED_AT[0] == 3
    gaps = [after - before for before, after in pairwise((0, *REMINDED_AT))]
    assert gaps == sorted(gaps)


def test_the_reminder_is_the_question_in_its_own_words_and_changes_nothing(bench: Bench) -> None:
    """It is put as it was, stays pending, and is not what "repeat" brings back."""
    before = bench.conductor.state
    for _ in range(3):
        bench.conductor.take(refused(asked=False))
    QuestionAid().look(QUIET, bench.conductor)
    (said,) = [event for event in bench.new() if isinstance(event, Replied)]
    assert (said.words, said.passing) == ("Say yes when all that is seen to.", True)
    assert bench.conductor.state.question == before.question
    assert bench.conductor.state.last_reply == before.last_reply


def test_what_is_understood_begins_the_count_anew(bench: Bench) -> None:
    """Two stretches of talk before a command, and two after it, are not four."""
    assert reminders(bench, refused(asked=False), 2) == []
    bench.conductor.pressed(("repeat",))
    bench.new()
    assert reminders(bench, refused(asked=False), 2) == []


def test_noise_without_words_and_a_pause_are_no_answers(bench: Bench) -> None:
    """Only what has words could have been an answer, and in a pause nothing is asked."""
    assert reminders(bench, replace(refused(asked=False), heard=()), 5) == []
    bench.conductor.pressed(("pause",))
    bench.new()
    assert reminders(bench, refused(asked=False), 5) == []


def due_while_speaking(bench: Bench, monkeypatch: pytest.MonkeyPatch) -> QuestionAid:
    """Let more talk be than the reminder needs, all of it while the own voice speaks."""
    aid = QuestionAid()
    with monkeypatch.context() as speaking:
        speaking.setattr(bench.conductor, "tell", lambda _intent: False)
        for _ in range(REMINDED_AT[0] + 1):
            bench.conductor.take(refused(asked=False))
            aid.look(QUIET, bench.conductor)
    return aid


def test_a_reminder_that_would_fall_into_the_own_voice_comes_after_it(
    bench: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It does not wait for the next count, though more talk was let be meanwhile; and it comes once."""
    aid = due_while_speaking(bench, monkeypatch)
    assert bench.said() == []
    for _ in range(2):
        aid.look(QUIET, bench.conductor)
    assert bench.said() == ["Say yes when all that is seen to."]


def test_a_reminder_that_is_due_goes_with_what_was_understood(
    bench: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A command began the count anew before the voice had ended."""
    aid = due_while_speaking(bench, monkeypatch)
    bench.conductor.pressed(("repeat",))
    bench.new()
    aid.look(QUIET, bench.conductor)
    assert bench.said() == []


@pytest.mark.parametrize(
    ("heard", "times"),
    [
        (("clicked", "number four clicked"), 1),
        (("clicked",), 0),
        (("dinner time", "dinner time"), 0),
        (("workbench repeat", "workbench repeat"), 0),
        (("clicked", "", "clicked"), 0),
    ],
)
def test_commands_for_another_place_are_answered_with_where_the_job_stands(
    bench: Bench, heard: tuple[str, ...], times: int
) -> None:
    """At the second one, unless something was understood between them (here ""); what fits is only a miss."""
    bench.conductor.pressed(("yes",))
    bench.new()
    aid = ElsewhereAid(combined([load_grammar(mode) for mode in ("step", "tighten")], "both"))
    for words in heard:
        aid.heard(replace(refused(asked=False), freely=tuple(words.split())) if words else accepted(0))
        for _ in range(30):
            aid.look(QUIET, bench.conductor)
    said = bench.said()
    assert len(said) == times
    assert all(words.startswith("That does not fit here. This is step one. Say ") for words in said)


def test_what_can_be_said_here_is_not_told_twice_in_a_row(bench: Bench) -> None:
    """Right after a miss that told it, only the step is told: while the list is read nothing else is heard."""
    for _ in range(2):
        bench.conductor.pressed(("yes",))
    bench.new()
    aid = ElsewhereAid(combined([load_grammar(mode) for mode in ("step", "tighten")], "both"))
    missed = replace(refused(asked=True), freely=("clicked",))
    for _ in range(2):
        bench.conductor.take(missed)
        aid.heard(missed)
        aid.look(QUIET, bench.conductor)
    again, listed, where = bench.said()
    assert again == "Say again."
    assert listed.startswith("Say done, next")
    assert where == "That does not fit here. This is step one."


@pytest.mark.parametrize(("begins", "ends"), [("take a note", "end note"), ("pause", "resume")])
def test_what_is_said_into_a_note_or_in_a_pause_is_no_command_for_another_place(
    bench: Bench, begins: str, ends: str
) -> None:
    """It is not held against the mechanic when the note is kept, or the work goes on."""
    aid = ElsewhereAid(combined([load_grammar(mode) for mode in ("step", "tighten")], "both"))
    bench.conductor.pressed(("yes",))
    bench.conductor.pressed(tuple(begins.split()))
    bench.new()
    for _ in range(2):
        aid.heard(replace(refused(asked=False), freely=("number", "four", "clicked")))
        aid.look(QUIET, bench.conductor)
    bench.conductor.pressed(tuple(ends.split()))
    bench.new()
    aid.look(QUIET, bench.conductor)
    assert bench.said() == []


@pytest.mark.parametrize("always", [True, False])
def test_no_reminder_where_the_name_is_required(always: bool, tmp_path: Path) -> None:  # noqa: FBT001
    """What is said without it is not for the assistant."""
    write_sound(tmp_path / "silence.wav", silence(1.0))
    source, calling = FileSource(tmp_path / "silence.wav"), Calling(name="workbench", always=always)
    with ExitStack() as stack:
        aids = _aids(
            stack,
            source,
            Recogniser(Scripted()),
            Habits(),
            press=Press(),
            calling=calling,
            endpointer=Endpointer(),
            floor=NoiseFloor(),
        )
    assert any(isinstance(aid, QuestionAid) for aid in aids) != always
    (noise,) = (aid for aid in aids if isinstance(aid, NoiseAid))
    assert noise.talk_key == "", "a recording has no keys"


def test_talk_without_an_end_is_looked_for_where_speech_is_cut(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What warns of babble looks at the same cutting of the stream that hearing goes by."""
    write_sound(tmp_path / "silence.wav", silence(1.0))
    given: dict[str, Any] = {}
    monkeypatch.setattr(session, "run_sound", lambda *_doors, **more: given.update(more))
    doors = Doors(hear=str(tmp_path / "silence.wav"), speak="none", engine="pocketsphinx", as_json=True)
    work_job(NAME, tmp_path, doors, new=None, route="", out=StringIO())
    (noise,) = (aid for aid in given["aids"] if isinstance(aid, NoiseAid))
    monkeypatch.setattr(
        Endpointer, "talk_s", property(lambda self: 45.0 if self is given["endpointer"] else 0.0)
    )
    assert noise.talk_s() == 45.0


def test_talk_is_let_be_where_nothing_was_asked(bench: Bench) -> None:
    """Without a question no talk is answered, however long."""
    for word in ("yes", "yes"):
        bench.conductor.pressed((word,))
    while bench.conductor.state.question is not None:
        bench.conductor.pressed(("yes",))
    bench.new()
    assert reminders(bench, refused(asked=False), 70) == []


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
