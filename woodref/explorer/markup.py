"""A page of ours as a small tree, so that links and forms in it can be exchanged. It reads only what our own
templates write: every tag that needs an end has one."""

from __future__ import annotations

import html
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from html.parser import HTMLParser

#: tags of HTML without an end
VOID = frozenset(
    ("area", "base", "br", "col", "embed", "hr", "img", "input", "link", "meta", "source", "wbr")
)
#: tags that say nothing when there is nothing in them; a drawing says something without a word
WORDS_ONLY = frozenset(
    ("p", "ul", "ol", "li", "nav", "section", "div", "span", "strong", "em", "i", "b", "a", "figcaption")
)


@dataclass
class Node:
    """begin: the tag as it was written; inner: text as it was written, and nodes; end: its end tag or ''."""

    tag: str
    begin: str
    attrs: dict[str, str]
    inner: list[Node | str] = field(default_factory=list)
    end: str = ""

    def text(self) -> str:
        """All of it as it is sent."""
        return self.begin + "".join(n if isinstance(n, str) else n.text() for n in self.inner) + self.end

    def nodes(self) -> Iterator[Node]:
        """Every node below this one, outer ones first."""
        for inner in self.inner:
            if isinstance(inner, Node):
                yield inner
                yield from inner.nodes()

    @property
    def classes(self) -> list[str]:
        return self.attrs.get("class", "").split()

    @property
    def bare(self) -> bool:
        """Whether there is nothing in it to see or to read."""
        return self.tag in WORDS_ONLY and not any(
            n.strip() if isinstance(n, str) else not n.bare for n in self.inner
        )

    def set(self, name: str, value: str) -> None:
        """Another value for an attribute that it has."""
        self.attrs[name] = value
        said = f'{name}="{html.escape(value)}"'
        pattern = rf"(?<=\s){re.escape(name)}\s*=\s*(?:\"[^\"]*\"|'[^']*'|[^\s>]+)"
        self.begin = re.sub(pattern, lambda _: said, self.begin, count=1, flags=re.IGNORECASE)

    def change(self, how: Callable[[Node], list[Node | str] | None]) -> None:
        """Put something else for nodes below this one, inner ones first. how: a node -> what stands in its
        place, None to leave it."""
        out: list[Node | str] = []
        for inner in self.inner:
            if isinstance(inner, Node):
                inner.change(how)
                instead = how(inner)
                out += [inner] if instead is None else instead
            else:
                out.append(inner)
        self.inner = out


class _Reader(HTMLParser):
    def __init__(self) -> None:
        super().__init__(convert_charrefs=False)
        self.root = Node("", "", {})
        self.open = [self.root]

    def _add(self, what: Node | str) -> None:
        self.open[-1].inner.append(what)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        node = Node(tag, self.get_starttag_text() or "", {key: value or "" for key, value in attrs})
        self._add(node)
        if tag not in VOID:
            self.open.append(node)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self._add(Node(tag, self.get_starttag_text() or "", {key: value or "" for key, value in attrs}))

    def handle_endtag(self, tag: str) -> None:
        if self.open[-1].tag != tag:
            raise ValueError(f"</{tag}> ends <{self.open[-1].tag}>")
        self.open.pop().end = f"</{tag}>"

    def handle_data(self, data: str) -> None:
        self._add(data)

    def handle_entityref(self, name: str) -> None:
        self._add(f"&{name};")

    def handle_charref(self, name: str) -> None:
        self._add(f"&#{name};")

    def handle_comment(self, data: str) -> None:
        pass

    def handle_decl(self, decl: str) -> None:
        self._add(f"<!{decl}>")


def read(text: str) -> Node:
    """The tree of a page. ValueError when a tag is not closed."""
    reader = _Reader()
    reader.feed(text)
    reader.close()
    if len(reader.open) != 1:
        raise ValueError(f"<{reader.open[-1].tag}> has no end")
    return reader.root
