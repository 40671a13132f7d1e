from pathlib import Path

import pytest

from assistant.errors import HearingError
from assistant.evaluate.corpus import read_corpus
from tests.evaluate.made import Row, write_manifest


def test_optional_keys_may_be_missing_or_null(tmp_path: Path) -> None:
    """A line needs no more than its file and its part, and speech its text; other keys are let be."""
    rows: list[Row] = [
        {"file": "a.wav", "part": "noise"},
        {"file": "b.wav", "part": "speech", "text": "Go 110", "speaker": None, "spliced": True},
    ]
    corpus = read_corpus(write_manifest(tmp_path / "corpus", rows))
    [speech] = corpus.part("speech")
    assert (speech.words, speech.speaker) == (("go", "one", "hundred", "ten"), "")
    assert [clip.file for clip in corpus.part("noise")] == ["a.wav"]


WRONG = [
    ("nonsense", "this line is not JSON"),
    ("[1]", "file: field required"),
    ('{"file": "a.wav"}', "part: field required"),
    ('{"file": "a.wav", "part": "song"}', "part: input should be 'speech', 'talk' or 'noise'"),
    ('{"file": "none.wav", "part": "noise"}', "there is no file 'none.wav'"),
    ('{"file": "a.wav", "part": "speech"}', "speech needs its text"),
]


@pytest.mark.parametrize(("line", "message"), WRONG)
def test_a_mistake_in_the_manifest_is_told_with_its_line(tmp_path: Path, line: str, message: str) -> None:
    """The error names the file and the line, and says what is wrong."""
    folder = write_manifest(tmp_path / "corpus", [{"file": "a.wav", "part": "noise"}])
    with (folder / "manifest.jsonl").open("a", encoding="utf-8") as file:
        file.write(f"\n{line}\n")
    with pytest.raises(HearingError) as caught:
        read_corpus(folder)
    assert f"manifest.jsonl:3: {message}" in str(caught.value)


def test_an_empty_corpus_is_refused(tmp_path: Path) -> None:
    """A manifest with no line in it is no corpus."""
    (tmp_path / "manifest.jsonl").write_text("\n\n", encoding="utf-8")
    with pytest.raises(HearingError, match="the corpus is empty"):
        read_corpus(tmp_path)


def test_a_folder_without_a_manifest_is_refused(tmp_path: Path) -> None:
    """The error names the manifest that is missing."""
    with pytest.raises(HearingError, match=r"manifest\.jsonl"):
        read_corpus(tmp_path / "nowhere")
