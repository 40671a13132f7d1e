import re
from html.parser import HTMLParser
from pathlib import Path

import pytest

from assistant.author.reading import page
from assistant.procedure.load import examples, find_procedure, load_procedure

BENCH = sorted((Path(__file__).parents[1] / "talks" / "bench").glob("*.yaml"))
WRITTEN = [*map(find_procedure, examples()), *(path for path in BENCH if path.stem != "shop")]


class _Words(HTMLParser):
    """Gathers what can be read, and every address."""

    def __init__(self) -> None:
        super().__init__()
        self.words = ""
        self.addresses: list[str] = []

    def handle_data(self, data: str) -> None:
        self.words += " " + " ".join(data.split())

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        del tag
        self.addresses += [value or "" for key, value in attrs if key in {"src", "href"}]


@pytest.mark.parametrize("path", WRITTEN, ids=[path.stem for path in WRITTEN])
def test_the_page_says_everything_and_needs_nothing(path: Path) -> None:
    """Every step's words and caution, every group's stages are there, and every figure is in the page itself."""
    procedure = load_procedure(path)
    seen = _Words()
    seen.feed(page(procedure))
    for step in procedure.steps:
        assert " ".join(step.say.split()) in seen.words
        assert step.caution is None or step.caution.say in seen.words
    assert len(seen.addresses) == len(procedure.groups)
    assert all(address.startswith("data:image/svg+xml") for address in seen.addresses)


def test_a_step_tells_its_action_in_words() -> None:
    """Tightening names the stages with their values, a wait its end test, a gate what to do on a no."""
    text = re.sub(r"\s+", " ", page(load_procedure(find_procedure("generator-set-head"))))
    assert "head bolts: 2. 30 N.m, 3. 60 N.m, 4. then 90 deg" in text
    assert "at least 45 min, and until this is so: Do both push rods" in text
    assert "<dt>If not</dt><dd>Pull the pin, turn on" in text
    assert "Caution, to be acknowledged" in text


def test_words_of_an_author_are_words_in_the_page() -> None:
    """What looks like markup in a procedure is shown, not obeyed."""
    procedure = load_procedure(find_procedure("pipe-flange"))
    changed = procedure.model_copy(update={"about": "<script>alert(1)</script>"})
    assert "<script>" not in page(changed)
