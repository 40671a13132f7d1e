import pytest

from assistant.dialogue.names import MOST_CALLED, names_of, several
from assistant.evaluate.bench import long_procedure
from assistant.hearing.grammar import load_grammar, words_of
from assistant.procedure.route import route_through


def test_job_longer_than_any_can_still_be_listened_to() -> None:
    """The grammar bears a job of more steps than can be gone to by number."""
    names = names_of(route_through(long_procedure(MOST_CALLED + 1)))
    grammar = load_grammar("step", names)
    assert grammar.match(words_of("go to step nine hundred ninety nine")) is not None
    assert grammar.match(words_of("go to step one thousand")) is None


@pytest.mark.parametrize(
    ("kind", "more"),
    [
        ("push rod", "push rods"),
        ("bush", "bushes"),
        ("boss", "bosses"),
        ("gearbox", "gearboxes"),
        ("shims", "shims"),
    ],
)
def test_several_of_a_kind_are_called_as_one_calls_them(kind: str, more: str) -> None:
    """The name that is made for all of them can be said, and is not said twice over."""
    assert several(kind) == more
