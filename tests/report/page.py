"""An HTML page taken apart by the standard library's parser."""

from html.parser import HTMLParser

Attributes = dict[str, str | None]


class Page(HTMLParser):
    """Every element with its attributes, and all text in order."""

    def __init__(self, page: str) -> None:
        super().__init__(convert_charrefs=True)
        self.elements: list[tuple[str, Attributes]] = []
        self.text = ""
        self.feed(page)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Keep the element."""
        self.elements.append((tag, dict(attrs)))

    def handle_data(self, data: str) -> None:
        """Keep the text."""
        self.text += data

    @property
    def tags(self) -> set[str]:
        """The names of the elements there are."""
        return {tag for tag, _ in self.elements}

    def named(self, tag: str) -> list[Attributes]:
        """The attributes of every element of that name."""
        return [attributes for name, attributes in self.elements if name == tag]
