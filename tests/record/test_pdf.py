"""The record on paper: its pages are turned to text and to grey, and held against the record."""

from collections.abc import Sequence
from pathlib import Path

import pypdfium2
import pytest

from assistant.record.gather import gather
from assistant.record.model import Record
from assistant.record.pdf import print_pdf
from assistant.record.render import draw_groups
from assistant.record.words import VERDICTS
from tests.record.sample import demonstration, png, sample_entries

UNSETTLED = gather(demonstration(), sample_entries(), "f" * 64)
SETTLED = gather(demonstration(), sample_entries(settled=True), "e" * 64)


def _printed(record: Record, pictures: Path = Path("nowhere")) -> bytes:
    return print_pdf(record, draw_groups(demonstration(), record), pictures)


def _pages(content: bytes) -> list[str]:
    document = pypdfium2.PdfDocument(content)
    pages = [" ".join(page.get_textpage().get_text_range().split()) for page in document]
    document.close()
    return pages


@pytest.fixture(scope="module", params=["unsettled", "settled"])
def printed(request: pytest.FixtureRequest) -> tuple[Record, list[str]]:
    """Give a record and the text of its pages."""
    record = SETTLED if request.param == "settled" else UNSETTLED
    return record, _pages(_printed(record))


def test_open_items_are_on_the_first_page(printed: tuple[Record, list[str]]) -> None:
    """What is open stands on page one, counted; where nothing is, that stands there."""
    record, pages = printed
    assert all(_has(pages[0], item.what) for item in record.open_items)
    assert ("Nothing is open" if not record.open_items else f"{len(record.open_items)} open") in pages[0]
    assert record.demonstration_words in pages[0]


def test_all_that_was_done_is_on_paper(printed: tuple[Record, list[str]]) -> None:
    """Steps, groups, measurements with verdicts, notes with text, departures and waits can be read."""
    record, pages = printed
    whole = " ".join(pages)
    wanted: Sequence[str] = (
        *record.head.people,
        record.head.machine,
        *(step.say for step in record.steps),
        *(group.title for group in record.groups),
        *(f"{row.value}" for row in record.measurements),
        *(VERDICTS[row.verdict] for row in record.measurements),
        *(note.text for note in record.notes),
        *(row.reason for row in record.departures),
        *(row.test for row in record.waits),
        *(str(value) for group in record.groups for row in group.positions for value in row.final),
        "Heard but refused: 2",
        record.journal.hash,
    )
    assert [words for words in wanted if not _has(whole, words)] == []


def _has(text: str, words: str) -> bool:
    """Look for words wherever lines were broken, also within a long one."""
    return words.replace(" ", "") in text.replace(" ", "").replace("\ufffe", "")


def test_same_record_same_bytes() -> None:
    """Printing twice gives the same file; another record gives another."""
    first = _printed(UNSETTLED)
    assert _printed(UNSETTLED) == first
    assert _printed(SETTLED) != first


def test_the_date_inside_is_the_job_s() -> None:
    """The file's own date is that of the job's last entry, not today's."""
    document = pypdfium2.PdfDocument(_printed(UNSETTLED))
    assert document.get_metadata_dict()["CreationDate"].startswith(f"D:{UNSETTLED.head.ended:%Y%m%d}")
    document.close()


def test_every_figure_is_drawn_in_grey_alone() -> None:
    """Every page is black, white and grey, and each group's figure leaves ink."""
    document = pypdfium2.PdfDocument(_printed(UNSETTLED))
    for page in document:
        pixels = page.render(scale=1).to_numpy().astype(int)
        assert (pixels.max(axis=2) - pixels.min(axis=2)).max() < 16
        assert (pixels < 128).any()
    text = " ".join(page.get_textpage().get_text_range() for page in document)
    document.close()
    for group in UNSETTLED.groups:
        assert group.title.lower() in text  # the drawing names its group in small letters
    assert "a step, by its number" in text


def test_pictures_are_printed_whatever_they_are_called(tmp_path: Path) -> None:
    """A picture is on paper by what it is; one that is broken inside costs nothing but itself."""
    without = _printed(UNSETTLED, tmp_path)
    (tmp_path / "picture-0001.jpg").write_bytes(png())
    assert len(_printed(UNSETTLED, tmp_path)) > len(without)
    (tmp_path / "picture-0001.jpg").write_bytes(png()[:60])
    assert _has(" ".join(_pages(_printed(UNSETTLED, tmp_path))), "picture-0001.jpg")


def test_no_font_of_this_machine_is_used() -> None:
    """The fonts inside are those that the library brings."""
    content = _printed(UNSETTLED)
    fonts = {name.split(b"+")[-1] for name in _names(content)}
    assert fonts
    assert all(font.startswith((b"Libertinus", b"DejaVuSansMono", b"NewCM")) for font in fonts), fonts


def _names(content: bytes) -> list[bytes]:
    return [part.split()[0].strip(b"/") for part in content.split(b"/FontName")[1:]]


def test_marks_that_typesetting_knows_are_only_text() -> None:
    """What somebody said is never read as markup."""
    said = '#panic("no") *bold* $x$ @ref <label> \\ // `code`'
    head = UNSETTLED.head.model_copy(update={"about": said, "job": said, "people": (said,)})
    pages = _pages(_printed(UNSETTLED.model_copy(update={"head": head})))
    assert _has(pages[0], said)
