"""Reads a page as a browser would begin to: which elements, whether they are closed, which words."""

from html.parser import HTMLParser

VOID = {"meta", "link", "img", "br", "circle", "path", "rect"}


class Page(HTMLParser):
    """The elements of a page with their attributes, its words, and what is wrong with its nesting."""

    def __init__(self, html: str) -> None:
        super().__init__(convert_charrefs=True)
        self.elements: list[tuple[str, dict[str, str]]] = []
        self.faults: list[str] = []
        self._open: list[str] = []
        self._words: list[str] = []
        self.feed(html)
        self.close()
        self.faults += [f"{tag} is never closed" for tag in self._open]

    @property
    def words(self) -> str:
        """All words, with single spaces."""
        return " ".join("".join(self._words).split())

    def all(self, tag: str) -> list[dict[str, str]]:
        """Give the attributes of every element of a kind."""
        return [attributes for name, attributes in self.elements if name == tag]

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Note an element."""
        self.elements.append((tag, {name: value or "" for name, value in attrs}))
        if tag not in VOID:
            self._open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Note an element that closes itself."""
        self.elements.append((tag, {name: value or "" for name, value in attrs}))

    def handle_endtag(self, tag: str) -> None:
        """Note where an element closes that is not the one opened last."""
        if not self._open or self._open[-1] != tag:
            self.faults.append(f"{tag} closes at {self.getpos()}, open are {self._open}")
        else:
            self._open.pop()

    def handle_data(self, data: str) -> None:
        """Keep words that are shown."""
        if not {"style", "script", "title"} & set(self._open):
            self._words.append(data)
