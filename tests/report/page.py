"""An HTML page taken apart by the standard library's parser."""

from html.parser import HTMLParser

Attributes = dict[str, str | None]


class Page(HTMLParser):
    """Every element with its attributes, all text in order, and the rows of its tables as texts of their cells."""

    def __init__(self, page: str) -> None:
        super().__init__(convert_charrefs=True)
        self.elements: list[tuple[str, Attributes]] = []
        self.text = ""
        self.rows: list[list[str]] = []
        self._cell = False
        self.feed(page)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Keep the element."""
        self.elements.append((tag, dict(attrs)))
        if tag == "tr":
            self.rows.append([])
        elif tag in ("td", "th"):
            self.rows[-1].append("")
            self._cell = True

    def handle_endtag(self, tag: str) -> None:
        """A cell of a table ends."""
        if tag in ("td", "th"):
            self._cell = False

    def handle_data(self, data: str) -> None:
        """Keep the text."""
        self.text += data
        if self._cell:
            self.rows[-1][-1] += data

    @property
    def tags(self) -> set[str]:
        """The names of the elements there are."""
        return {tag for tag, _ in self.elements}

    def named(self, tag: str) -> list[Attributes]:
        """The attributes of every element of that name."""
        return [attributes for name, attributes in self.elements if name == tag]
