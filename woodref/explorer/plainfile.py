"""One page made into a file that stands alone: links to files, or words where there is none; no form, no
script."""

from __future__ import annotations

import html
import posixpath
from collections.abc import Callable, Mapping

from woodref.explorer.markup import Node

NAMES = "/names"
#: elements that go when nothing is left in them
HOLDERS = ("p", "ul", "ol", "li", "nav", "section", "div", "figcaption")
LOADED = {"link": "href", "img": "src", "image": "href", "use": "href"}
SEARCH = 'No name can be looked up in these files. <a href="{names}">All names, letter by letter</a>'
FORM = (
    "What is filled in here is answered by the explorer itself (<code>woodref explore</code>), not by these "
    "files."
)


def plain_page(page: Node, link: str, files: Mapping[str, str], day: str) -> str:
    """The text of a file. link: of the page; files: link -> file of every page there is; day: of writing."""
    here = posixpath.dirname(files[link])

    def to(file: str) -> str:
        return posixpath.relpath(file, here or ".")

    def led(href: str) -> str | None:
        """A link as it is from this file; None where it leads out of the folder."""
        bare, stroke, place = href.partition("#")
        if not bare:
            return href
        known = files.get(bare)
        return None if known is None else f"{to(known)}{stroke}{place}"

    def instead(node: Node) -> list[Node | str] | None:
        if node.tag == "script" or "take" in node.classes:
            return []
        if node.tag == "form":
            return [_sentence(node, to(files[NAMES]))]
        if node.tag in LOADED and LOADED[node.tag] in node.attrs:
            return _loaded(node, to)
        if node.tag == "a":
            return _anchor(node, led)
        if node.tag == "footer":
            told = f"Written as plain files on {html.escape(day)}. What changed since is not in them."
            node.inner.append(f"<p>{told}</p>\n")
        if node.tag in HOLDERS and node.bare and "id" not in node.attrs:
            return []
        return None

    page.change(instead)
    return page.text()


def _sentence(form: Node, names: str) -> str:
    """What stands where a form was."""
    if form.attrs.get("action") == "/search":
        return f'<p class="notice">{SEARCH.format(names=html.escape(names))}.</p>'
    return f'<p class="notice">{FORM}</p>'


def _loaded(node: Node, to: Callable[[str], str]) -> list[Node | str] | None:
    name = LOADED[node.tag]
    source = node.attrs[name]
    if source.startswith("/assets/"):
        node.set(name, to(source.lstrip("/")))
    elif not source.startswith(("#", "data:")):
        return []
    return None


def _anchor(node: Node, led: Callable[[str], str | None]) -> list[Node | str] | None:
    """A link that leads to a file; a button that leads nowhere goes, other words stay without the link."""
    href = node.attrs.get("href")
    if href is None:
        return None
    target = led(href)
    if target is not None:
        node.set("href", target)
        return None
    first = node.inner[0] if node.inner else ""
    door = isinstance(first, Node) and first.tag == "strong"
    return [] if door or "button" in node.classes else list(node.inner)
