"""JSGF against the W3C note's own examples: https://www.w3.org/TR/2000/NOTE-jsgf-20000605/.

The polite commands of its last section were looked up in a second source that quotes them (the
Javadoc of Sphinx-4's JSGF grammar); the others are from memory of the note, section by section.
"""

from pathlib import Path
from typing import Any

import pytest

from assistant.errors import HearingError
from assistant.hearing.automaton import Automaton, Span
from assistant.hearing.grammar import parse_grammar
from assistant.hearing.jsgf import read

POLITENESS = """#JSGF V1.0 ISO8859-1 en;
grammar com.acme.politeness;

// Body
public <startPolite> = (please | kindly | could you | oh mighty computer) *;
public <endPolite> = [ please | thanks | thank you ];
"""
COMMANDS = """#JSGF V1.0 ISO8859-1 en;
grammar com.acme.commands;
import <com.acme.politeness.startPolite>;
import <com.acme.politeness.endPolite>;

/**
 * Basic command.
 * @example please move the window
 * @example open a file
 */
public <basicCmd> = <startPolite> <command> <endPolite>;

<command> = <action> <object>;
<action> = /10/ open |/2/ close |/1/ delete |/1/ move;
<object> = [the | a] (window | file | menu);
"""


def spans(rules: str, said: str) -> tuple[Span, ...] | None:
    """Match against the first rule of a text; tags as they stand, for the note's are none of ours."""
    text = read(f"#JSGF V1.0;\ngrammar note;\n{rules}", "note")

    def resolve(reference: Any, _home: str) -> tuple[str, Any]:
        return reference.name, text.rules[reference.name].expansion

    first = next(iter(text.rules))
    return Automaton(first, text.rules[first].expansion, resolve).spans(said.lower().split())


def accepts(rules: str, said: str) -> bool:
    """Tell whether the first rule takes this utterance."""
    return spans(rules, said) is not None


@pytest.mark.parametrize(
    "header",
    ["#JSGF V1.0;", "#JSGF V1.0 ISO8859-5;", "#JSGF V1.0 JIS ja;", "#JSGF V1.0 UTF-8 en-US;"],
)
def test_headers(header: str) -> None:
    """Section 3.1: the version, and perhaps a character encoding and a locale."""
    assert parse_grammar(f"{header}\ngrammar robot;\npublic <a> = hello;", name="robot").phrases(1) == (
        "hello",
    )


def test_the_header_is_required() -> None:
    """Section 3.1: the file begins with its self-identifying header."""
    with pytest.raises(HearingError, match="header"):
        read("grammar robot;\npublic <a> = hello;", "robot")


def test_comments() -> None:
    """Section 2.5: both kinds of comment may stand anywhere between tokens."""
    rules = "/** doc {x} */ <a> = // one\n open /* two | three */ file; // <b> = c;"
    assert accepts(rules, "open file")


def test_quoted_tokens() -> None:
    """Section 2.3: a token in quotation marks may hold blanks and signs.

    Departure from the note: a token of signs alone, such as "+", is refused, for nothing would be heard.
    """
    assert accepts('<city> = "New York" | "San Francisco (CA)";', "New York")
    with pytest.raises(HearingError, match="nothing that can be said"):
        read('#JSGF V1.0;\ngrammar note;\n<sum> = one "+" one;', "note")
    assert accepts('<name> = "von Trapp" {1} | don\'t;', "don't")


def test_composition() -> None:
    """Section 4.3: sequences and alternatives, an alternative binding looser than a sequence."""
    rules = "<name> = Michael | Yuriko | Mary | Duke | <otherNames>; <otherNames> = Bill | Bob Smith;"
    assert accepts(rules, "Yuriko")
    assert accepts(rules, "Bob Smith")
    assert not accepts(rules, "Bob")
    assert not accepts(rules, "Michael Yuriko")


@pytest.mark.parametrize(
    ("rule", "phrases"),
    [
        ("/10/ small | /2/ medium | /1/ large", ["small", "medium", "large"]),
        ("/0.5/ red | /0.1/ navy blue | /0.2/ sea green", ["red", "navy blue", "sea green"]),
        ("please (/20/save files |/1/delete all files)", ["please save files", "please delete all files"]),
    ],
)
def test_weights(rule: str, phrases: list[str]) -> None:
    """Section 4.3.3: weights say how likely, not what."""
    assert all(accepts(f"<a> = {rule};", phrase) for phrase in phrases)


def test_grouping() -> None:
    """Section 4.4.1: parentheses group alternatives inside a sequence."""
    rules = "<command> = (open | close) (windows | doors);"
    assert [accepts(rules, said) for said in ("open windows", "close doors", "open", "open close")] == [
        *(True, True),
        *(False, False),
    ]
    assert accepts("<action> = please (open | close | delete);", "please delete")


def test_optional_grouping() -> None:
    """Section 4.4.2: what stands in square brackets may be left out."""
    rules = "<command> = [ <polite> ] don't crash; <polite> = please | kindly | oh mighty computer;"
    assert accepts(rules, "don't crash")
    assert accepts(rules, "oh mighty computer don't crash")
    assert not accepts(rules, "please kindly don't crash")


def test_kleene_star() -> None:
    """Section 4.5.1: any number of times, none included."""
    rules = "<command> = <polite>* don't crash; <polite> = please | kindly | oh mighty computer;"
    for said in ("don't crash", "please don't crash", "oh mighty computer please please don't crash"):
        assert accepts(rules, said)


def test_plus() -> None:
    """Section 4.5.2: once or more."""
    rules = "<command> = <polite>+ don't crash; <polite> = please | kindly | oh mighty computer;"
    assert accepts(rules, "please please don't crash")
    assert not accepts(rules, "don't crash")


def test_tags() -> None:
    """Section 4.6: a tag belongs to the part right before it; several may follow one part."""
    rules = "<country> = Australia {Oz} | (United States) {USA} | America {USA} | (U S of A) {USA};"
    assert spans(rules, "Australia") == (Span("Oz", 0, 1),)
    assert spans(rules, "U S of A") == (Span("USA", 0, 4),)
    assert spans("<a> = hello world {greeting} {short};", "hello world") == (
        Span("greeting", 1, 2),
        Span("short", 1, 2),
    )
    assert spans(r"<a> = go {x = \{1\}; \\};", "go") == (Span(r"x = {1}; \ ".strip(), 0, 1),)


def test_precedence() -> None:
    """Section 4.7: names and tokens, groups, repetition and tags, sequences, alternatives."""
    assert spans("<a> = go north {n} | (go south)* {s};", "go north") == (Span("n", 1, 2),)
    assert spans("<a> = go north {n} | (go south)* {s};", "go south go south") == (Span("s", 0, 4),)
    assert not accepts("<a> = very big+;", "very big very big")
    assert accepts("<a> = (very) big | small;", "small")
    assert not accepts("<a> = (very) big | small;", "very small")


def test_recursion() -> None:
    """Section 4.8: right recursion, nested too, is a loop; left recursion is refused."""
    right = (
        "<command> = <action> | (<action> and <command>); <action> = stop | start | pause | resume | finish;"
    )
    assert accepts(right, "stop and start and finish")
    assert not accepts(right, "stop and")
    nested = "<X> = something | <Y>; <Y> = another thing <X>;"
    assert accepts(nested, "another thing another thing something")
    with pytest.raises(HearingError, match="calls itself"):
        accepts("<command> = <action> | (<command> and <action>); <action> = stop;", "stop")


def test_special_rules() -> None:
    """Section 2.2.3: NULL is always there without a word, VOID can never be spoken."""
    assert accepts("<a> = one <NULL> two;", "one two")
    assert not accepts("<a> = one <VOID> two | three;", "one two")
    assert accepts("<a> = one <VOID> two | three;", "three")


@pytest.mark.parametrize("name", ["NULL", "VOID"])
def test_special_rules_cannot_be_defined(name: str) -> None:
    """Section 2.2.3: the two names are taken."""
    with pytest.raises(HearingError, match="may not be defined"):
        read(f"#JSGF V1.0;\ngrammar note;\n<{name}> = a;", "note")


@pytest.fixture
def acme(tmp_path: Path) -> Path:
    """Lay out the note's two example grammars as files."""
    (tmp_path / "politeness.jsgf").write_text(POLITENESS, encoding="utf-8")
    return tmp_path


@pytest.mark.parametrize(
    "reference",
    [
        "import <com.acme.politeness.startPolite>; public <a> = <startPolite> go;",
        "import <com.acme.politeness.*>; public <a> = <startPolite> go;",
        "import <com.acme.politeness.*>; public <a> = <politeness.startPolite> go;",
        "import <com.acme.politeness.*>; public <a> = <com.acme.politeness.startPolite> go;",
        "public <a> = <com.acme.politeness.startPolite> go;",
    ],
)
def test_imports_and_names(acme: Path, reference: str) -> None:
    """Sections 2.2 and 3.3: simple, qualified and full names, the last without an import."""
    grammar = parse_grammar(f"#JSGF V1.0;\ngrammar t;\n{reference}", name="t", folder=acme)
    assert grammar.match(["please", "could", "you", "go"])


def test_the_basic_command(acme: Path) -> None:
    """Section 5.1: polite commands from two grammars."""
    grammar = parse_grammar(COMMANDS, name="commands", folder=acme)
    for said in (
        "please move the window",
        "open a file",
        "oh mighty computer please kindly open the menu thank you",
        "could you delete file thanks",
    ):
        assert grammar.match(said.split()), said
    for said in ("window", "move a menu thanks please", "the open window", "please"):
        assert grammar.match(said.split()) is None, said
