import pytest

from assistant.evaluate.scoring import Kind, Outcome, kind_of, meaning_of, outcome_of
from assistant.hearing.grammar import Grammar, load_grammar, parse_grammar

LIST = parse_grammar(
    "#JSGF V1.0;\ngrammar list;\npublic <list> = one hundred ten | one one zero | one hundred | ten | go;\n",
    name="list",
)


def meant(grammar: Grammar, words: str) -> list[str]:
    """Give the meaning of a sentence of the grammar."""
    match = grammar.match(words.split())
    assert match is not None
    return meaning_of(match)


def test_a_number_is_right_however_it_is_said() -> None:
    """The whole value counts, not the words."""
    assert meant(LIST, "one one zero") == meant(LIST, "one hundred ten") == ["110"]
    measure = load_grammar("measure")
    said = meant(measure, "point two five millimetres")
    assert said == ["measured unit=mm value=0.25"]
    assert meant(measure, "measured zero point two five millimetres") == said


def test_half_a_number_is_wrong() -> None:
    """Two utterances that were cut apart are not the number that was said."""
    acted = [meant(LIST, "one hundred"), meant(LIST, "ten")]
    assert outcome_of(["110"], acted, asked=False) is Outcome.WRONG
    assert outcome_of(["110"], acted[:1], asked=True) is Outcome.WRONG


def test_commands_cut_apart_are_right_where_they_mean_the_same() -> None:
    """To have done and to go on are two things, in one breath or in two."""
    step = load_grammar("step")
    acted = [meant(step, "done"), meant(step, "next")]
    assert outcome_of(meant(step, "done next"), acted, asked=False) is Outcome.RIGHT
    assert outcome_of(meant(step, "done next"), acted[::-1], asked=False) is Outcome.WRONG


def test_doing_it_twice_is_wrong() -> None:
    """What was said once is done once."""
    assert outcome_of(["go"], [["go"], ["go"]], asked=False) is Outcome.WRONG


def test_what_is_not_acted_on_is_asked_again_or_ignored() -> None:
    """The two are kept apart."""
    assert outcome_of(["go"], [], asked=True) is Outcome.AGAIN
    assert outcome_of(["go"], [], asked=False) is Outcome.IGNORED


@pytest.mark.parametrize(
    ("words", "kind"),
    [
        ("go", Kind.WORD),
        ("six", Kind.FIGURE),
        ("one one zero", Kind.NUMBER),
        ("number four done", Kind.PHRASE),
    ],
)
def test_words_phrases_and_numbers_are_told_apart(words: str, kind: Kind) -> None:
    """Each kind is scored by itself."""
    assert kind_of(words.split()) is kind
