from pathlib import Path

import pytest

from assistant.errors import HearingError
from assistant.evaluate.corpus import Clip, Corpus
from assistant.evaluate.wanted import AS_IT_IS, Case, cases, closed_list, grammar_spec, ratios


def clip(file: str, part: str, text: str = "") -> Clip:
    """Make a clip that has no file behind it."""
    return Clip.model_validate({"file": file, "part": part, "text": text})


CORPUS = Corpus(
    folder=Path("corpus"),
    clips=(
        *(
            clip(f"s{n}", "speech", text)
            for n, text in enumerate(["go", "one one zero", "110", "go", "stop"])
        ),
        *(clip(f"t{n}", "talk") for n in range(3)),
        *(clip(f"n{n}", "noise") for n in range(4)),
    ),
)
NOISES = CORPUS.part("noise")
LIST = closed_list(CORPUS.part("speech")).open()


def played(corpus: Corpus, *snrs: str, seed: int = 1, limit: int | None = None) -> list[Case]:
    """List the cases."""
    return cases(corpus, NOISES, snrs, LIST, seed=seed, limit=limit)


def test_speech_and_talk_are_played_at_every_ratio_and_noise_as_it_is() -> None:
    """The count is clips times ratios, and each bare noise once."""
    found = played(CORPUS, "clean", "5")
    assert len(found) == (5 + 3) * 2 + 4
    assert {each.snr for each in found if each.clip.part == "noise"} == {AS_IT_IS}
    assert all((each.noise is None) == (each.snr in ("clean", AS_IT_IS)) for each in found)


def test_a_clip_has_one_noise_whatever_else_is_played() -> None:
    """Neither the ratio, nor the limit, nor the order of the corpus changes a clip's noise and seed."""
    turned = Corpus(folder=CORPUS.folder, clips=CORPUS.clips[::-1])
    everything = {(each.clip.file, each.snr): each for each in played(CORPUS, "10", "5")}
    for each in [*played(turned, "10", "5"), *played(CORPUS, "5", limit=2)]:
        assert everything[each.clip.file, each.snr] == each
    for file in ("s0", "t1"):
        assert everything[file, "10"].noise == everything[file, "5"].noise


def test_another_seed_gives_other_noise() -> None:
    """The seed decides."""
    assert [each.seed for each in played(CORPUS, "5")] != [each.seed for each in played(CORPUS, "5", seed=2)]


def test_a_limit_takes_so_many_of_each_part() -> None:
    """A larger limit keeps what a smaller one had."""
    few, more = ({each.clip.file for each in played(CORPUS, "5", limit=n)} for n in (2, 3))
    assert (len(few), len(more)) == (6, 9)
    assert few < more


def test_a_limit_counts_what_the_grammar_takes_by_itself() -> None:
    """A quick look has commands in it, also where most of the corpus cannot be said."""
    stop = closed_list(CORPUS.clips[4:5]).open()
    found = cases(CORPUS, NOISES, ["clean"], stop, seed=1, limit=1)
    assert sorted(each.clip.part for each in found) == ["noise", "speech", "speech", "talk"]
    assert "stop" in {each.clip.text for each in found}


def test_noise_is_needed_only_where_something_is_to_be_mixed_with_it() -> None:
    """Without noise only "clean" can be measured."""
    bare = Corpus(folder=CORPUS.folder, clips=CORPUS.clips[:5])
    assert len(cases(bare, (), ["clean"], LIST, seed=1, limit=None)) == 5
    with pytest.raises(HearingError, match="--noise"):
        cases(bare, (), ["clean", "5"], LIST, seed=1, limit=None)


def test_ratios_are_clean_or_decibels() -> None:
    """Each is named once, as briefly as can be."""
    assert ratios("clean, 20,5.0,-3,5") == ("clean", "20", "5", "-3")


@pytest.mark.parametrize("text", ["", "loud", "nan", "5;3", "inf"])
def test_other_ratios_are_refused(text: str) -> None:
    """The error says where."""
    with pytest.raises(HearingError, match="--snr"):
        ratios(text)


def test_the_closed_list_is_what_the_corpus_says() -> None:
    """Figures and words meet in one spelling, and nothing else can be said."""
    grammar = closed_list(CORPUS.part("speech")).open()
    assert grammar.phrases(10) == ("go", "stop", "one hundred ten", "one one zero")
    assert grammar.match(("go", "stop")) is None


def test_a_closed_list_of_nothing_is_refused() -> None:
    """Without speech another grammar must be named."""
    with pytest.raises(HearingError, match="--grammar"):
        closed_list(())


def test_a_grammar_may_be_a_mode_or_a_file(tmp_path: Path) -> None:
    """Modes come with their intents; files are read, and their text is part of what results depend on."""
    match = grammar_spec("step", CORPUS).open().match(("done",))
    assert match is not None
    assert [intent.name for intent in match.intents] == ["done"]
    path = tmp_path / "own.jsgf"
    path.write_text("#JSGF V1.0;\ngrammar own;\npublic <own> = go {next};\n", encoding="utf-8")
    first = grammar_spec(str(path), CORPUS)
    assert first.open().phrases(5) == ("go",)
    path.write_text("#JSGF V1.0;\ngrammar own;\npublic <own> = go {done};\n", encoding="utf-8")
    assert grammar_spec(str(path), CORPUS).digest != first.digest
