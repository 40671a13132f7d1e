"""The name that it is called by."""

from datetime import UTC, datetime, timedelta
from io import StringIO
from pathlib import Path

import pytest

from assistant.dialogue.intents import Intent
from assistant.errors import HearingError
from assistant.hearing.grammar import load_grammar
from assistant.hearing.recogniser import Recognised
from assistant.work.calling import CALM, SAID_AGAIN, SIGNS, Calling
from assistant.work.session import Doors, work_job

STEP = load_grammar("step")
START = datetime(2026, 3, 2, 8, tzinfo=UTC)


def heard(*names: str, accepted: bool = True) -> Recognised:
    """Make what was heard."""
    return Recognised(
        heard=("x",),
        intents=tuple(Intent(name=name) for name in names),
        accepted=accepted,
        asked=not accepted,
        confidence=1.0,
        engine="text",
        start_s=0,
        end_s=0,
    )


ASKED = heard("not-understood", accepted=False)


def said(name: str, *, always: bool = False) -> tuple[bool, bool]:
    """Tell whether "next" counts, and whether it counts with the name before it."""
    grammar = Calling(name=name, always=always).grammar(STEP)
    plain, named = grammar.match(["next"]), grammar.match([*name.split(), "next"])
    assert named is None or named.intents == (Intent(name="next"),)
    return plain is not None, named is not None


def test_the_name_may_be_said_and_must_where_it_is_required() -> None:
    """NAME, COMMAND in one breath always counts; COMMAND alone only where the name is not required."""
    assert said("workbench") == (True, True)
    assert said("work bench", always=True) == (False, True)
    assert Calling().grammar(STEP) is STEP


def test_stop_words_never_need_the_name() -> None:
    """The voice can always be silenced with one word."""
    calling = Calling(name="workbench", always=True)
    grammar = calling.grammar(load_grammar("speaking"), may_need=False)
    assert grammar.match(["stop"])
    assert grammar.match(["workbench", "stop"])


def test_a_grammar_with_the_name_is_made_once() -> None:
    """Engines prepare a grammar by its identity."""
    calling = Calling(name="workbench")
    assert calling.grammar(STEP) is calling.grammar(STEP)


def test_talk_taken_for_commands_makes_the_name_needed_and_calm_ends_it() -> None:
    """What was asked for again and not said again counts; it is told once when it begins and when it ends."""
    calling, now, told = Calling(name="workbench"), START, list[str]()
    for _ in range(SIGNS + 2):
        told += [intent.name for intent in calling.took(ASKED, now)]
        now += SAID_AGAIN + timedelta(seconds=5)
        told += [intent.name for intent in calling.look(now)]
    assert told == ["name-needed"]
    assert calling.grammar(STEP).match(["next"]) is None
    assert calling.look(now + CALM / 2) == ()
    (free,) = calling.look(now + CALM)
    assert free == Intent(name="name-free", slots={"name": "workbench"})
    assert calling.look(now + CALM * 2) == ()
    assert calling.grammar(STEP).match(["next"])


def test_what_was_said_again_is_no_sign() -> None:
    """A mechanic who is misheard and repeats is a mechanic."""
    calling, now = Calling(name="workbench"), START
    for _ in range(3 * SIGNS):
        assert calling.took(ASKED, now) == ()
        assert calling.took(heard("next"), now + SAID_AGAIN / 2) == ()
        now += SAID_AGAIN


def test_what_is_taken_back_counts_more() -> None:
    """Two commands undone are enough, within a while; spread over a day they are not."""
    calling = Calling(name="workbench")
    assert calling.took(heard("undo"), START) == ()
    assert [intent.name for intent in calling.took(heard("undo"), START + timedelta(minutes=1))] == [
        "name-needed"
    ]
    spread = Calling(name="workbench")
    for hour in range(8):
        assert spread.took(heard("undo"), START + timedelta(hours=hour)) == ()


def test_without_a_name_none_is_needed() -> None:
    """The shop has to choose one first."""
    calling = Calling()
    for _ in range(5):
        assert calling.took(heard("undo"), START) == ()


def test_a_name_without_words_is_refused() -> None:
    """Signs alone cannot be said."""
    with pytest.raises(HearingError, match="no name that can be said"):
        Calling(name="!?").grammar(STEP)


def test_what_is_asked_for_again_at_once_counts_too() -> None:
    """Talk that goes on leaves no calm in which it would be seen that nobody said it again."""
    calling, told = Calling(name="workbench"), list[str]()
    for second in range(SIGNS + 1):
        told += [intent.name for intent in calling.took(ASKED, START + timedelta(seconds=second))]
    assert told == ["name-needed"]


def test_a_typed_job_is_freed_of_the_name_by_calm_too(tmp_path: Path) -> None:
    """Two commands taken back make it needed; what is typed half an hour later needs it no more."""
    lines = ["yes", "yes", "done", "undo", "done", "undo", "repeat", "(30 min later)", "repeat"]
    said, doors = StringIO(), Doors(hear="text", speak="none", call_name="workbench", as_json=True)
    typed = StringIO("\n".join(lines))
    work_job("generator-set-head", tmp_path, doors, new=None, route="", typed=typed, out=said)
    text = said.getvalue()
    needed, free = text.index("say workbench first"), text.index("need not say workbench")
    assert '"accepted": false' in text[needed:free]
    assert '"accepted": false' not in text[free:]
    assert '"accepted": true' in text[free:]
