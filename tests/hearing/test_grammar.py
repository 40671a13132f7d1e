from pathlib import Path

import pytest

from assistant.dialogue.intents import Intent
from assistant.errors import DialogueError, HearingError
from assistant.hearing.grammar import Grammar, combined, load_grammar, modes, parse_grammar, pronunciations

HEAD = "#JSGF V1.0;\ngrammar t;\n"


def said(grammar: Grammar, words: str) -> list[tuple[str, dict[str, str]]] | None:
    """Match, and give the intents as plain pairs; None where there is no match."""
    match = grammar.match(words.split())
    return None if match is None else [(intent.name, dict(intent.slots)) for intent in match.intents]


def test_each_intent_takes_the_slots_before_it() -> None:
    """Several intents in one utterance each carry what was said since the one before."""
    grammar = parse_grammar(
        HEAD + "public <t> = (number <n> {position=} done {position-done})+ [next {next}]; <n> = two | four;",
        name="t",
    )
    assert said(grammar, "number four done number two done next") == [
        ("position-done", {"position": "four"}),
        ("position-done", {"position": "two"}),
        ("next", {}),
    ]


def test_a_tag_may_set_a_slot_to_words_of_its_own() -> None:
    """A value behind the equals sign stands for whatever was said."""
    grammar = parse_grammar(HEAD + "public <t> = (wrong | bad) {reason = wrong part} {reason};", name="t")
    assert said(grammar, "bad") == [("reason", {"reason": "wrong part"})]


def test_words_without_tags_mean_nothing() -> None:
    """An utterance without an intent matches, and carries none."""
    grammar = parse_grammar(HEAD + "public <t> = hello;", name="t")
    match = grammar.match(("hello",))
    assert match is not None
    assert match.words == ("hello",)
    assert match.intents == ()
    assert grammar.match(("hello", "there")) is None


def test_words_are_spelled_in_one_way() -> None:
    """Capitals, hyphens, figures and quotation marks in a grammar are spelled as utterances are."""
    grammar = parse_grammar(HEAD + 'public <t> = "Thirty-Five" 12 DON\'T (M8 | "New York");', name="t")
    assert grammar.phrases(5) == ("thirty five twelve don't m eight", "thirty five twelve don't new york")


@pytest.mark.parametrize(
    ("text", "where", "what"),
    [
        ("grammar t;\npublic <t> = a;", "t:1", "header"),
        (HEAD + "\npublic <t> = a {nonsense};", "t:4", "there is no intent 'nonsense'"),
        (HEAD + "public <t> =\n a {place=};", "t:4", "no intent takes the slot 'place'"),
        (HEAD + "public <t> = a {opened};", "t:3", "there is no intent 'opened'"),
        (HEAD + "public <t> = a {position=} {next};", "t", "does not take the slot 'position'"),
        (HEAD + "public <t> = a {position=};", "t", "no intent follows the slot 'position'"),
        (HEAD + "public <t> = <u>\n;", "t:3", "<u> is not there"),
        (HEAD + "public <t> = <u.v>;", "t:3", "no grammar 'u'"),
        (HEAD + "import <u.*>;\npublic <t> = <v>;", "t:3", "no grammar 'u'"),
        (HEAD + "<t> = a;", "t", "no rule is public"),
        (HEAD + "public <t> = <VOID>;", "t", "nothing can be said"),
        (HEAD, "t:3", "no rule"),
        (HEAD + "public <t> = a;\npublic <t> = b;", "t:4", "again"),
        (HEAD + "public <t> = (a;", "t:3", "expected )"),
        (HEAD + "public <t> = a", "t:3", "end of the file"),
        (HEAD + "public <t> = a | ;", "t:3", "something to say"),
        (HEAD + "public <t> = ();", "t:3", "something to say"),
        (HEAD + "public <t> = a**;", "t:3", "one repetition"),
        (HEAD + "public <t> = /2/ a | b;", "t:3", "weight"),
        (HEAD + "public <t> = a }\n;", "t:3", "cannot stand here"),
        (HEAD + "public <t> = ---;", "t:3", "nothing that can be said"),
        (HEAD + "public <t> = <a'b>;", "t:3", "not a name"),
        (HEAD + "public <a'b> = a;", "t:3", "not a name"),
        ("#JSGF V1.0;\ngrammar a'b;\npublic <t> = a;", "t:2", "not a name"),
        (HEAD + "public <t> = " + "(" * 99 + "a" + ")" * 99 + ";", "t:3", "too deep"),
        (HEAD + "/* one\ntwo */ public <t> = a\n// three\n| ;", "t:6", "something to say"),
    ],
)
def test_a_mistake_is_told_with_its_line(text: str, where: str, what: str) -> None:
    """Every mistake in a grammar is one error that says what is wrong and where."""
    with pytest.raises(HearingError) as caught:
        parse_grammar(text, name="t")
    assert caught.value.where == where
    assert what in str(caught.value)


def test_three_hundred_alternatives_are_read() -> None:
    """A long list of alternatives is no trouble."""
    words = [f"{a}{b}" for a in "abcdefghijklmnopqrst" for b in "abcdefghijklmno"]
    grammar = parse_grammar(HEAD + f"public <t> = {' | '.join(words)};", name="t")
    assert grammar.words == set(words)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Make a folder of grammars that import one another."""
    files = {
        "base": "public <yes> = yes {yes}; public <no> = no {no};"
        "public <both> = <yes> | <no>; <hidden> = secret;",
        "other": "public <no> = nope {no};",
        "ask": "import <base.*>; public <ask> = <both> | <again>; <again> = repeat {repeat};",
        "pick": "import <base.yes>; public <pick> = <yes> | <other.no>; public <spare> = spare;",
        "clash": "import <base.*>; import <other.*>; public <clash> = <no>;",
        "prying": "import <base.*>; public <prying> = <hidden>;",
        "named": "public <named> = (<names.part> | <names.tool> | nothing) {reason=} {reason};",
    }
    for name, text in files.items():
        (tmp_path / f"{name}.jsgf").write_text(f"#JSGF V1.0;\ngrammar {name};\n{text}", encoding="utf-8")
    return tmp_path


def test_modes_are_the_files_with_a_public_rule_of_their_name(folder: Path) -> None:
    """A file that only others import is no mode."""
    assert modes(folder) == ("ask", "clash", "named", "pick", "prying")


def test_imported_rules_bring_what_they_need(folder: Path) -> None:
    """Wildcard, single and fully named imports all lead to the same rules."""
    assert load_grammar("ask", folder=folder).phrases(9) == ("no", "repeat", "yes")
    assert load_grammar("pick", folder=folder).phrases(9) == ("nope", "yes")


def test_only_the_rule_of_the_mode_is_spoken(folder: Path) -> None:
    """Other public rules of a mode's file are for others to import."""
    assert "spare" not in load_grammar("pick", folder=folder).words


def test_an_ambiguous_import_is_refused(folder: Path) -> None:
    """Two imported rules of one name are an error where the name is used."""
    with pytest.raises(HearingError, match="<no> is ambiguous"):
        load_grammar("clash", folder=folder)


def test_a_private_rule_cannot_be_imported(folder: Path) -> None:
    """What another file keeps for itself is not there."""
    with pytest.raises(HearingError, match="<hidden> is not there"):
        load_grammar("prying", folder=folder)


def test_names_of_the_procedure_fill_their_rules(folder: Path) -> None:
    """Names are spelled as the grammar spells; a list that is missing or empty says nothing."""
    plain = load_grammar("named", folder=folder)
    assert plain.phrases(9) == ("nothing",)
    names = {"part": ["Head-gasket", "push rod 2", "push rod two", "—"], "tool": []}
    filled = load_grammar("named", names, folder=folder)
    assert filled.phrases(9) == ("nothing", "head gasket", "push rod two")
    assert said(filled, "push rod two") == [("reason", {"reason": "push rod two"})]
    assert "<VOID>" not in plain.jsgf() + filled.jsgf()


def test_many_names_are_no_trouble(folder: Path) -> None:
    """A procedure may bring hundreds of names."""
    names = {"part": [f"part number {n}" for n in range(500)]}
    assert said(load_grammar("named", names, folder=folder), "part number three hundred twelve") == [
        ("reason", {"reason": "part number three hundred twelve"})
    ]


def test_an_unknown_mode_is_told_with_the_known_ones(folder: Path) -> None:
    """The error lists what may be chosen."""
    with pytest.raises(HearingError, match="ask, clash, named"):
        load_grammar("nowhere", folder=folder)


def test_a_file_must_hold_the_grammar_it_is_called_after(tmp_path: Path) -> None:
    """A file with another grammar inside is refused, with its place."""
    (tmp_path / "step.jsgf").write_text("#JSGF V1.0;\ngrammar stop;\npublic <step> = a;", encoding="utf-8")
    with pytest.raises(HearingError, match="holds the grammar 'stop'"):
        load_grammar("step", folder=tmp_path)


def test_a_file_that_is_no_text_is_refused(tmp_path: Path) -> None:
    """A broken file is one clear error."""
    (tmp_path / "step.jsgf").write_bytes(b"\xff\xfe\x00")
    with pytest.raises(HearingError, match="not UTF-8"):
        modes(tmp_path)


def test_a_language_without_grammars_is_refused() -> None:
    """Only languages with grammars can be chosen."""
    with pytest.raises(HearingError, match="no grammars for the language 'xx'"):
        load_grammar("step", language="xx")


def test_grammars_unite_without_saying_anything_twice(folder: Path) -> None:
    """A union accepts what each accepts; what they share is listed once."""
    ask, pick = (load_grammar(mode, folder=folder) for mode in ("ask", "pick"))
    both = combined([ask, pick, ask], "both")
    assert both.phrases(9) == ("no", "nope", "repeat", "yes")
    assert both.jsgf().count("repeat") == 1
    assert combined([both, pick], "again").phrases(9) == both.phrases(9)


def test_different_rules_of_one_name_do_not_unite() -> None:
    """A union never takes one rule for another."""
    one = parse_grammar(HEAD + "public <t> = a;", name="one")
    two = parse_grammar(HEAD + "public <t> = b;", name="two")
    with pytest.raises(HearingError, match=r"two rules <t\.t>"):
        combined([one, two], "both")


def test_a_grammar_is_the_same_only_as_itself() -> None:
    """Engines keep what they prepare by the grammar's identity."""
    one, two = (parse_grammar(HEAD + "public <t> = a;", name="t") for _ in range(2))
    assert len({one, two, one}) == 2


def test_the_flat_text_reads_back_as_the_same_language(folder: Path) -> None:
    """The text for other decoders is JSGF of the same utterances, without imports and tags."""
    for mode in ("ask", "pick", "named"):
        grammar = load_grammar(mode, {"part": ["rod"]}, folder=folder)
        text = grammar.jsgf()
        assert "import" not in text
        assert "{" not in text
        assert text.isascii()
        assert parse_grammar(text, name="flat").phrases(50) == grammar.phrases(50)


def test_weights_reach_the_flat_text() -> None:
    """How likely an alternative is stays known to the decoder."""
    grammar = parse_grammar(HEAD + "public <t> = /9/ a | /1/ b;", name="t")
    assert "/9/ a | /1/ b" in grammar.jsgf()


def test_another_language_is_read_alike() -> None:
    """Words need not be Latin."""
    grammar = parse_grammar(
        "#JSGF V1.0 UTF-8 ko;\ngrammar t;\npublic <t> = 다음 {next} | 다시 한번 {repeat};", name="t"
    )
    assert said(grammar, "다시 한번") == [("repeat", {})]


def test_pronunciations_are_words_and_their_sounds() -> None:
    """The list leaves out its comments, and every sound is ARPABET."""
    assert pronunciations()["thou"] == "TH AW"
    assert all(sound.isupper() for sounds in pronunciations().values() for sound in sounds.split())


def test_an_unknown_intent_cannot_be_made() -> None:
    """The closed list stands behind the tags too."""
    with pytest.raises(DialogueError):
        Intent(name="nonsense")
