"""Read a page as a strict tree, to ask what stands where and whether it is put together well."""

from __future__ import annotations

import re
from collections.abc import Iterator
from html.parser import HTMLParser

VOID = frozenset(("meta", "link", "input", "br", "hr", "wbr", "img"))
HEADINGS = ("h1", "h2", "h3", "h4", "h5", "h6")


class Node:
    """One element with its attributes, and the elements and texts inside it."""

    def __init__(self, tag: str, attributes: dict[str, str], parent: Node | None) -> None:
        self.tag = tag
        self.attributes = attributes
        self.parent = parent
        self.inside: list[Node | str] = []

    @property
    def text(self) -> str:
        """Return the text as it is read, white space drawn together."""
        return re.sub(r"\s+", " ", self.raw).strip()

    @property
    def raw(self) -> str:
        """Return the text as it stands, with a space round what begins a line of its own."""
        parts = (part if isinstance(part, str) else part._set_apart() for part in self.inside)
        return "".join(parts)

    def all(self, *tags: str) -> Iterator[Node]:
        """Yield every element inside with one of the tags, in the order of the page."""
        for part in self.inside:
            if isinstance(part, Node):
                if not tags or part.tag in tags:
                    yield part
                yield from part.all(*tags)

    def one(self, tag: str, **attributes: str) -> Node:
        """Return the only element inside that has the tag and the attributes."""
        found = [n for n in self.all(tag) if attributes.items() <= n.attributes.items()]
        assert len(found) == 1, f"{len(found)} elements {tag} {attributes}"
        return found[0]

    def by_id(self, identifier: str) -> Node:
        """Return the element with an id."""
        found = [node for node in self.all() if node.attributes.get("id") == identifier]
        assert len(found) == 1, f"{len(found)} elements with the id {identifier}"
        return found[0]

    def _set_apart(self) -> str:
        inline = ("a", "code", "span", "mark", "strong", "wbr", "time")
        return self.raw if self.tag in inline else f" {self.raw} "


class _Builder(HTMLParser):
    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.root = self.here = Node("", {}, None)
        self.faults: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        names = [name for name, _ in attrs]
        self.faults += [f"{tag} has {n} twice" for n in set(names) if names.count(n) > 1]
        node = Node(tag, {name: value or "" for name, value in attrs}, self.here)
        self.here.inside.append(node)
        if tag not in VOID:
            self.here = node

    def handle_endtag(self, tag: str) -> None:
        if tag != self.here.tag or self.here.parent is None:
            self.faults.append(f"</{tag}> ends <{self.here.tag}> in line {self.getpos()[0]}")
            return
        self.here = self.here.parent

    def handle_data(self, data: str) -> None:
        self.here.inside.append(data)


def parsed(html: str) -> Node:
    """Return a page as a tree, after checking that every element is ended where it should be."""
    builder = _Builder()
    builder.feed(html)
    builder.close()
    assert builder.faults == []
    assert builder.here is builder.root, f"<{builder.here.tag}> is not ended"
    return builder.root
