import re
from pathlib import Path

import pytest

from assistant.dialogue.names import names_of
from assistant.dialogue.phrasing import load_phrasebook
from assistant.dialogue.reply import Line
from assistant.hearing.grammar import load_grammar, modes, words_of
from assistant.procedure.load import load_procedure
from assistant.procedure.route import route_through
from tests.talks.talk import Talk

BENCH = Path(__file__).parents[1] / "talks" / "bench"
BOOK = load_phrasebook()
STAND_FOR = {
    "number and done": "number two done",
    "measured and the value": "measured point two five",
    "no and the right value": "no point two five",
    "no to go there": "no",
    "in and the place": "in bag three",
}
"""What help describes, and an example of it; all else is said as it is told."""
LAST = "cancel"
TOP_END = route_through(load_procedure(BENCH / "top-end.yaml"))


def told_by_help(mode: str) -> list[str]:
    """Give what the help of a mode names, one by one."""
    words = BOOK.words(Line(f"help.{mode}", {"answers": ("one dot",)}))
    parts = re.split(r", or the reason why it stays: |, or |, | or ", words.removeprefix("Say ").rstrip("."))
    return [part for part in parts if part]


@pytest.mark.parametrize("mode", [mode for mode in modes() if mode != "speaking"])
def test_what_help_names_can_be_said_there(mode: str) -> None:
    """Whoever says what help told is understood."""
    names = {**names_of(TOP_END), "person": ["one dot"]}
    grammar = load_grammar(mode, names)
    for words in told_by_help(mode):
        assert grammar.match(words_of(STAND_FOR.get(words, words))) is not None, f"{mode}: {words!r}"


@pytest.mark.parametrize("mode", [mode for mode in modes() if mode != "speaking"])
def test_help_names_the_shortest_first(mode: str) -> None:
    """A few words are caught on the way; only the way out of a question stands last."""
    lengths = [len(words.split()) for words in told_by_help(mode) if words not in {LAST, *STAND_FOR}]
    assert lengths == sorted(lengths)


def test_help_names_the_answers_that_a_part_can_have() -> None:
    """Asked which end was up, nobody can guess what the author wrote."""
    talk = Talk(TOP_END)
    talk.open()
    for words in ("yes", "took off the intake push rod front in tray two", "help"):
        talk.say(words)
    assert talk.answer == "Say one dot, two dots, no mark, not known, or cancel."


def test_help_names_the_people_where_a_name_is_wanted() -> None:
    """Who may have asked for it is a short list."""
    talk = Talk(route_through(load_procedure(BENCH / "course.yaml")))
    talk.open()
    for words in ("yes", "yes", "next", "skip", "on instruction", "help"):
        talk.say(words)
    assert talk.answer == "Say anna, bert, or cancel."
