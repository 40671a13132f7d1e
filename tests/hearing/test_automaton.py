import re
from itertools import product
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.errors import HearingError
from assistant.hearing.automaton import Automaton, Span
from assistant.hearing.jsgf import read


def automaton(body: str, **others: str) -> Automaton:
    """Make the automaton of one expansion, with other rules by name."""
    rules = "".join(f"<{name}> = {text};\n" for name, text in others.items())
    text = read(f"#JSGF V1.0;\ngrammar t;\npublic <t> = {body};\n{rules}", "t.jsgf")

    def resolve(reference: Any, _home: str) -> tuple[str, Any]:
        return reference.name, text.rules[reference.name].expansion

    return Automaton("t", text.rules["t"].expansion, resolve)


@pytest.mark.parametrize(
    ("body", "accepted", "refused"),
    [
        ("a (a | b)* b", ["a b", "a a b", "a b b b"], ["a", "b", "a a"]),
        ("(a | a b) [b]", ["a", "a b", "a b b"], ["b", "a a"]),
        ("a* a", ["a", "a a a"], ["", "b"]),
        ("(a*)+ b", ["b", "a a b"], ["a"]),
        ("[a] [a b] a", ["a", "a a", "a b a", "a a b a"], ["a b", "a b b"]),
        ("(a) b | c", ["a b", "c"], ["a c", "a"]),
        ("a b* c", ["a c", "a b b c"], ["a b a b c", "c"]),
        ("<NULL> a <NULL>", ["a"], ["", "a a"]),
        ("a | <VOID> | b <VOID>", ["a"], ["b", ""]),
        ("[<VOID>] a <VOID>*", ["a"], ["", "b"]),
        ("/3/ a | /0/ b | /0.5/ c", ["a", "c"], ["b"]),
    ],
)
def test_every_way_through_is_tried(body: str, accepted: list[str], refused: list[str]) -> None:
    """An utterance is accepted where any reading of it fits, however greedy a part could be."""
    made = automaton(body)
    assert all(made.spans(said.split()) is not None for said in accepted)
    assert all(made.spans(said.split()) is None for said in refused)


def test_two_number_forms_before_an_optional_unit() -> None:
    """A longer number form is found behind a shorter one, with and without what may follow."""
    made = automaton("(<n> | <n> <n>) {value=} [inch {unit=}]", n="one | two")
    assert made.spans(["one", "two", "inch"]) == (Span("value=", 0, 2), Span("unit=", 2, 3))
    assert made.spans(["one", "two"]) == (Span("value=", 0, 2),)
    assert made.spans(["two", "inch"]) == (Span("value=", 0, 1), Span("unit=", 1, 2))


def test_the_reading_written_first_counts() -> None:
    """Where an utterance has two readings, the first alternative wins, every time."""
    made = automaton("a b {first} | (a b) {second} | a {third} b")
    assert [made.spans(["a", "b"]) for _ in range(5)] == [(Span("first", 1, 2),)] * 5


def test_tags_close_from_the_inside_out() -> None:
    """Nested and repeated tags come in the order in which their words end."""
    made = automaton("((a {x} b) {y} {z})+")
    assert made.spans(["a", "b", "a", "b"]) == (
        *(Span("x", 0, 1), Span("y", 0, 2), Span("z", 0, 2)),
        *(Span("x", 2, 3), Span("y", 2, 4), Span("z", 2, 4)),
    )


def test_a_rule_may_call_itself_at_its_end() -> None:
    """Right recursion is a loop, also through another rule."""
    made = automaton(
        "<command>", command="<action> | <action> and <more>", more="<command>", action="stop | start"
    )
    assert made.spans(["stop", "and", "start", "and", "stop"]) == ()
    assert made.spans(["stop", "and"]) is None


@pytest.mark.parametrize("body", ["<a> x | x", "x <a> y | x", "x (<a> {tag})", "x <a>*"])
def test_a_rule_that_calls_itself_elsewhere_is_refused(body: str) -> None:
    """What no finite automaton can follow is an error, not an endless loop."""
    with pytest.raises(HearingError, match="calls itself before its end"):
        automaton("<a>", a=body)


def test_a_rule_that_only_calls_itself_says_nothing() -> None:
    """A rule without an end is as if it were VOID."""
    made = automaton("<a> | b", a="x <a>")
    assert made.words == {"b"}
    assert made.next_words([]) == {"b"}


def test_rules_that_double_one_another_are_refused() -> None:
    """A language that would fill the memory is an error."""
    doubling = {f"r{n}": f"<r{n + 1}> <r{n + 1}>" for n in range(30)}
    with pytest.raises(HearingError, match="too large"):
        automaton("<r0>", **doubling, r30="x")


def test_next_words_lead_to_a_whole_utterance() -> None:
    """Only words that can still be completed may come next."""
    made = automaton("a (b | c <VOID>) | a b d")
    assert made.next_words([]) == {"a"}
    assert made.next_words(["a"]) == {"b"}
    assert made.next_words(["a", "b"]) == {"d"}
    assert made.next_words(["a", "x"]) == frozenset()
    assert made.is_whole(["a", "b"])
    assert not made.is_whole(["a"])
    assert not made.is_whole(["x"])


def test_phrases_are_listed_where_they_are_few() -> None:
    """Every phrase is listed once, or none where there are more than the limit or endlessly many."""
    made = automaton("[a] (b | c | b)")
    assert made.phrases(4) == ("b", "c", "a b", "a c")
    assert made.phrases(3) is None
    assert automaton("a* b").phrases(50) is None


# Trees of a's and b's, each with the regular expression that says the same.
_LEAVES = st.sampled_from([("a", "a"), ("b", "b"), ("<NULL>", ""), ("<VOID>", "(?!)")])
_TREES = st.recursive(
    _LEAVES,
    lambda parts: st.one_of(
        st.tuples(parts, parts).map(lambda p: (f"({p[0][0]} {p[1][0]})", f"(?:{p[0][1]}{p[1][1]})")),
        st.tuples(parts, parts).map(lambda p: (f"({p[0][0]} | {p[1][0]})", f"(?:{p[0][1]}|{p[1][1]})")),
        parts.map(lambda p: (f"[{p[0]}]", f"(?:{p[1]})?")),
        parts.map(lambda p: (f"({p[0]})* {{tag}}", f"(?:{p[1]})*")),
        parts.map(lambda p: (f"({p[0]})+", f"(?:{p[1]})+")),
    ).map(lambda p: (f"({p[0]})", f"(?:{p[1]})")),
    max_leaves=8,
)
_UTTERANCES = ["".join(said) for length in range(5) for said in product("ab", repeat=length)]


@given(_TREES)
def test_the_language_is_that_of_the_regular_expression(tree: tuple[str, str]) -> None:
    """Against Python's own regular expressions: the same utterances, step by step too."""
    body, pattern = tree
    made = automaton(body)
    accepted = {said for said in _UTTERANCES if made.spans(said) is not None}
    assert accepted == {said for said in _UTTERANCES if re.fullmatch(pattern, said)}
    assert accepted == {said for said in _UTTERANCES if made.is_whole(said)}
    assert all(said[n] in made.next_words(said[:n]) for said in accepted for n in range(len(said)))


@pytest.mark.parametrize(
    "body", ["a (a | b)* b", "(a | a b) [b]", "[a] [a b] a", "a b* c", "a | <VOID> | b c"]
)
def test_nodes_lead_to_the_same_utterances(body: str) -> None:
    """The net of words has a way for each utterance that the automaton accepts, and for no other."""
    made = automaton(body)
    nodes = made.nodes()
    for words in (words for length in range(5) for words in product("abc", repeat=length)):
        node = 0
        for word in words:
            node = nodes[node].after.get(word, -1) if node >= 0 else -1
        assert (node >= 0 and nodes[node].whole) == made.is_whole(words)
