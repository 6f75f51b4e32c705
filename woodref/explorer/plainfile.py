"""One page made into a file that stands alone: links to files, or words where there is none; no form, no
script, no choice that leads nowhere."""

from __future__ import annotations

import html
import posixpath
from collections.abc import Callable, Iterator, Mapping, Sequence

from woodref.explorer.markup import Node

NAMES = "/names"
HEADINGS = ("h2", "h3", "h4")
#: elements that go when nothing is left in them
HOLDERS = ("p", "ul", "ol", "li", "nav", "section", "div", "details", "figcaption")
#: what is filled in
CONTROLS = ("input", "select", "textarea", "button", "label", "legend")
LOADED = {"link": "href", "img": "src", "image": "href", "use": "href"}
SEARCH = 'No name can be looked up in these files. <a href="{names}">All names, letter by letter</a>.'
FORM = (
    "What is filled in here is answered by the explorer itself (<code>woodref explore</code>), not by these "
    "files."
)

Led = Callable[[str], str | None]


def page_links(page: Node) -> Iterator[str]:
    """Where a page leads to: its links, and the pages of a long list that a form turns to."""
    for node in page.nodes():
        if node.tag == "a" and "href" in node.attrs:
            yield node.attrs["href"]
        if node.tag == "form":
            yield from (_turned(node, button) for button in node.nodes() if _turns(button))


def _turns(node: Node) -> bool:
    return node.tag == "button" and node.attrs.get("name") == "page" and "formaction" not in node.attrs


def _turned(form: Node, button: Node) -> str:
    return f"{form.attrs.get('action', '')}?page={button.attrs.get('value', '')}"


def plain_page(
    page: Node, link: str, files: Mapping[str, str], day: str, further: Mapping[str, str] | None = None
) -> str:
    """The text of a file. page: changed on the way; link: of the page; files: link -> file of every page
    there is; day: of writing; further: link -> title of pages that are to be named at its end."""
    here = posixpath.dirname(files[link]) or "."

    def to(file: str) -> str:
        return posixpath.relpath(file, here)

    def led(href: str) -> str | None:
        """A link as it is from this file; None where it leads out of the folder."""
        bare, stroke, place = href.partition("#")
        if not bare:
            return href
        # the first page of a list is the list
        known = files.get(bare) or files.get(bare.removesuffix("?page=1"))
        return None if known is None else f"{to(known)}{stroke}{place}"

    def loaded(node: Node) -> list[Node | str] | None:
        name = LOADED.get(node.tag, "")
        source = node.attrs.get(name, "")
        if source.startswith("/assets/"):
            node.set(name, to(source.lstrip("/")))
        elif source and not source.startswith(("#", "data:")):
            return []
        return None

    _forms(page, led, to(files[NAMES]))
    page.change(lambda node: [] if node.tag == "script" or "take" in node.classes else loaded(node))
    page.change(lambda node: _dead(node, led))
    _prune(page)
    _places(page)
    for node in page.nodes():
        if node.tag == "main" and further:
            node.inner.append(_further([(to(files[other]), title) for other, title in further.items()]))
    told = f"Written as plain files on {html.escape(day)}. What changed since is not in them."
    for node in page.nodes():
        if node.tag == "footer":
            node.inner.append(f"<p>{told}</p>\n")
    return page.text()


def title_of(page: Node) -> str:
    """The words of its heading, as they are written."""
    head = next((node for node in page.nodes() if node.tag == "h1"), None)
    return "" if head is None else "".join(n for n in head.inner if isinstance(n, str)).strip()


def _further(pages: Sequence[tuple[str, str]]) -> str:
    rows = "\n".join(f'<li><a href="{html.escape(file)}">{title}</a></li>' for file, title in pages)
    return f'<h2>Further pages</h2>\n<ul class="plain">\n{rows}\n</ul>\n'


# --- forms


def _forms(page: Node, led: Led, names: str) -> None:
    """A form that only asks becomes a sentence, told once; one round a table leaves the table."""
    told: list[bool] = []

    def sentence(form: Node) -> list[Node | str]:
        if form.attrs.get("action") == "/search":
            return [f'<p class="notice">{SEARCH.format(names=html.escape(names))}</p>\n']
        if told:
            return []
        told.append(True)
        return [f'<p class="notice">{FORM}</p>\n']

    def instead(node: Node) -> list[Node | str] | None:
        if node.tag == "details" and (form := _asking(node)):
            return sentence(form)
        if node.tag != "form" or _inside_details(page, node):
            return None
        if not _holds(node):
            return sentence(node)
        _bare_tables(node)
        node.change(lambda inner: _control(node, inner, led))
        return list(node.inner)

    page.change(instead)


def _holds(form: Node) -> bool:
    """Whether something to read stands in a form."""
    return any(node.tag in ("table", "svg", "figure") for node in form.nodes())


def _asking(details: Node) -> Node | None:
    """The form that a fold holds, where it holds little else."""
    if any(node.tag in ("table", "svg", "figure") for node in details.nodes()):
        return None
    return next((node for node in details.nodes() if node.tag == "form"), None)


def _inside_details(page: Node, form: Node) -> bool:
    """Whether the fold round it will stand for it."""
    return any(
        node.tag == "details" and _asking(node) is not None and any(inner is form for inner in node.nodes())
        for node in page.nodes()
    )


def _control(form: Node, node: Node, led: Led) -> list[Node | str] | None:
    if _turns(node):
        target = led(_turned(form, node))
        words = "".join(n if isinstance(n, str) else n.text() for n in node.inner)
        return [f'<a class="button second" href="{html.escape(target)}">{words}</a>'] if target else []
    gone = node.tag in CONTROLS or "field" in node.classes or "hint" in node.classes
    return [] if gone else None


def _bare_tables(form: Node) -> None:
    """Columns of boxes to tick go with their head, and with the words above them that tell of ticking."""
    for table in [node for node in form.nodes() if node.tag == "table"]:
        rows = [node for node in table.nodes() if node.tag == "tr"]
        ticked = {
            at for row in rows for at, cell in enumerate(_cells(row))
            if any(inner.tag in CONTROLS for inner in cell.nodes())
        }  # fmt: skip
        if not ticked:
            continue
        for row in rows:
            gone = [cell for at, cell in enumerate(_cells(row)) if at in ticked]
            row.inner = [n for n in row.inner if not any(n is cell for cell in gone)]
        table.inner = [n for n in table.inner if isinstance(n, str) or n.tag != "caption"]


def _cells(row: Node) -> list[Node]:
    return [n for n in row.inner if isinstance(n, Node) and n.tag in ("td", "th")]


# --- links


def _dead(node: Node, led: Led) -> list[Node | str] | None:
    """A link leads to a file; one that leads nowhere goes where it is a choice or a button, and leaves its
    words where it stands in a sentence."""
    if node.tag == "li":
        first = next((n for n in node.inner if n is _GONE or isinstance(n, Node) or n.strip()), None)
        return [] if first is _GONE else None
    if node.tag != "a" or "href" not in node.attrs:
        return None
    target = led(node.attrs["href"])
    if target is not None:
        node.set("href", target)
        return None
    return [_GONE] if "button" in node.classes else [_GONE, *node.inner]


class _Gone(str):
    """A text that shows nothing and marks where a link was."""

    __slots__ = ()


_GONE = _Gone()


def _prune(node: Node) -> None:
    """Takes away what has nothing left in it, headings with nothing below them among it."""
    for inner in node.inner:
        if isinstance(inner, Node):
            _prune(inner)
    kept = [n for n in node.inner if not (isinstance(n, Node) and n.tag in HOLDERS and _empty(n))]
    out: list[Node | str] = []  # from the last one on, so that a heading above headings goes with them
    for inner in reversed(kept):
        if not (isinstance(inner, Node) and inner.tag in HEADINGS and _nothing_below(inner, out)):
            out.insert(0, inner)
    node.inner = out


def _empty(node: Node) -> bool:
    """Bare, or a section with no more than its heading."""
    return all(
        not n.strip() if isinstance(n, str) else n.bare or (n.tag in ("summary", *HEADINGS))
        for n in node.inner
    )


def _nothing_below(heading: Node, rest: list[Node | str]) -> bool:
    for inner in rest:
        if isinstance(inner, str):
            if inner.strip():
                return False
        elif inner.tag in ("h1", *HEADINGS):
            return inner.tag <= heading.tag
        else:
            return False
    return True


def _places(page: Node) -> None:
    """Links to a place on the page that is no longer there leave their words."""
    there = {node.attrs["id"] for node in page.nodes() if "id" in node.attrs}

    def instead(node: Node) -> list[Node | str] | None:
        href = node.attrs.get("href", "") if node.tag == "a" else ""
        gone = href.startswith("#") and href[1:] not in there
        return list(node.inner) if gone and "button" not in node.classes else [] if gone else None

    page.change(instead)
