"""The reading pages as plain files, for a phone with no network: walked from the first page, links made
relative, forms replaced by a sentence, written into a folder whole or not at all."""

from __future__ import annotations

import hashlib
import json
import os
import re
import secrets
import shutil
from collections import deque
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import parse_qsl, quote, unquote

from woodref.catalogue.fold import fold
from woodref.errors import BadRequest
from woodref.explorer.asking import Ask, Shop, ask_of
from woodref.explorer.drawing import STATIC, answer, draw
from woodref.explorer.markup import Node, read
from woodref.explorer.page import Answered, Page
from woodref.explorer.plainfile import NAMES, page_links, plain_page, title_of
from woodref.explorer.routes import page_at, plain_paths

#: pages that answer what is filled in, and say nothing without it
ASKING = frozenset(("start:search", "instead:instead", "trade:trade", "board:board", "beside:beside"))
ASKING_FILES = frozenset(("layup", "ticked"))
#: pages beside those of the materials
MOST = 5_000
#: marks a folder as written here, so that only such a one is ever replaced
MARK = "woodref-pages.json"

Step = Callable[[int, int], None]


@dataclass(frozen=True)
class Written:
    """A folder of pages. size: of all files [bytes]; first: the file to open."""

    folder: Path
    pages: int
    size: int
    with_shelf: bool

    @property
    def first(self) -> Path:
        return self.folder / "index.html"

    def sentences(self) -> list[str]:
        out = [
            f"Written: {self.folder}, {self.pages:,} pages, {self.size / 1e6:.1f} MB.",
            "Copy the whole folder onto the phone and open index.html in it. Nothing in it needs a network, "
            "and nothing in it answers forms.",
        ]
        if self.with_shelf:
            out.append("Your shelf is among the pages: keep the folder to yourself.")
        return out


def write_folder(shop: Shop, folder: Path, step: Step | None = None) -> Written:
    """Write the pages; a folder written here before is replaced. step: told (pages done, pages known).
    BadRequest when something else is there, or it cannot be written."""
    _may_write(folder)
    pages = _walked(shop, step)
    names = file_names(pages)
    part = folder.with_name(f".{folder.name}.{secrets.token_hex(4)}.part")
    try:
        part.mkdir()
        day = shop.today.isoformat()
        further = _led_nowhere_else(pages)
        for path, body in pages.items():
            more = further if path == "/" else None
            _put(part / names[path], plain_page(read(body), path, names, day, more))
        for asset in _assets():
            _put(part / "assets" / asset.relative_to(STATIC), asset.read_bytes())
        told = {
            "made_by": "woodref explore --folder", "on": day, "catalogue": shop.catalogue.stamp,
            "files": sorted(f.relative_to(part).as_posix() for f in part.rglob("*") if f.is_file()),
        }  # fmt: skip
        _put(part / MARK, json.dumps(told, indent=1, default=str) + "\n")
        size = sum(file.stat().st_size for file in part.rglob("*") if file.is_file())
        _set_in_place(part, folder)
    except OSError as fault:
        raise BadRequest(
            f"{folder} cannot be written ({fault.strerror})", where="--folder", next="Name another place."
        ) from None
    finally:
        shutil.rmtree(part, ignore_errors=True)
    return Written(folder, len(pages), size, "/shelf" in pages)


def _led_nowhere_else(pages: Mapping[str, str]) -> dict[str, str]:
    """Link -> heading of pages that no other one leads to, since forms led there; and of all names."""
    read_once = {link: read(body) for link, body in pages.items()}
    led = {other for link, page in read_once.items() for other in _links(page) if other != link}
    alone = [link for link in pages if link == NAMES or (link not in led and not link.startswith(NAMES))]
    return {link: title_of(read_once[link]) for link in alone if link != "/"}


def _may_write(folder: Path) -> None:
    if not folder.exists() and not folder.is_symlink():
        if not folder.parent.is_dir():
            raise BadRequest(f"there is no folder {folder.parent}", where="--folder")
        return
    stranger = None if folder.is_dir() and not folder.is_symlink() else folder
    if stranger is None:
        ours = _written_before(folder)
        there = (f for f in sorted(folder.rglob("*")) if f.is_symlink() or not f.is_dir())
        stranger = next((f for f in there if f.relative_to(folder).as_posix() not in ours), None)
    if stranger is not None:
        raise BadRequest(
            f"{folder} is there, and {stranger} was not written by this command", where="--folder",
            next="Name a new folder: one that this command wrote before is replaced, with all in it.",
        )  # fmt: skip


def _written_before(folder: Path) -> set[str]:
    """Files of a folder that its mark tells of."""
    try:
        told = json.loads((folder / MARK).read_text("utf-8"))
        return {MARK, *map(str, told["files"])}
    except (OSError, ValueError, KeyError, TypeError):
        return set()


def _set_in_place(part: Path, folder: Path) -> None:
    """By renaming, so that nobody ever sees half of it."""
    if not folder.exists():
        os.rename(part, folder)
        return
    old = folder.with_name(f".{folder.name}.{secrets.token_hex(4)}.old")
    os.rename(folder, old)
    try:
        os.rename(part, folder)
    except OSError:
        os.rename(old, folder)
        raise
    shutil.rmtree(old, ignore_errors=True)


def _put(file: Path, body: str | bytes) -> None:
    file.parent.mkdir(parents=True, exist_ok=True)
    file.write_bytes(body.encode() if isinstance(body, str) else body)


def _assets() -> list[Path]:
    """What the pages load: all but scripts, which would ask a server."""
    return sorted(f for f in STATIC.rglob("*") if f.is_file() and f.suffix != ".js")


# --- the walk


def _walked(shop: Shop, step: Step | None) -> dict[str, str]:
    """Link -> HTML of every reading page: what is linked from the first page on, every material, every glue,
    and all names."""
    out = dict(_names_pages(shop))
    todo = deque(dict.fromkeys(["/", *plain_paths(), *_things(shop)]))
    known, most = set(todo), MOST + len(todo)
    while todo and len(out) < most:
        link = todo.popleft()
        found = _answered(shop, link)
        if found is not None:
            out[link] = found.body
            for other in _links(read(found.body)):
                if other not in known:
                    known.add(other)
                    todo.append(other)
        if step is not None:
            step(len(out), len(out) + len(todo))
    return out


def _answered(shop: Shop, link: str) -> Answered | None:
    """The page of a link, None when it is no page to read."""
    path, _, query = link.partition("?")
    found = page_at(path)
    if found is None or not reading(found[0]):
        return None
    words = {name: unquote(word) for name, word in found[1].items()}
    made = answer(found[0], ask_of(shop, words, parse_qsl(query), path))
    return made if made.status == 200 and made.kind.startswith("text/html") else None


def reading(page: str) -> bool:
    """Whether a page says something to somebody who fills nothing in."""
    return page not in ASKING and page.partition(":")[0] not in ASKING_FILES


def _links(page: Node) -> Iterator[str]:
    """Links to further pages: without a question in them, but for the number of a page."""
    for href in page_links(page):
        link = _bare_link(href)
        if link is not None:
            yield link


def _bare_link(href: str) -> str | None:
    path, _, query = href.partition("#")[0].partition("?")
    found = page_at(path) if path.startswith("/") else None
    if found is None or found[1].get("format"):
        return None
    pairs = parse_qsl(query, keep_blank_values=True)
    if [name for name, _ in pairs if name != "page"]:
        return None
    return f"{path}?page={pairs[0][1]}" if pairs and pairs[0][1] != "1" else path


def _things(shop: Shop) -> list[str]:
    """Every material and every glue."""
    rows = shop.catalogue.rows("SELECT id FROM material ORDER BY id")
    return [f"/wood/{quote(str(i), safe='')}" for i in [*(r["id"] for r in rows), *shop.catalogue.adhesives]]


# --- names, in place of the search


def _names_pages(shop: Shop) -> Iterator[tuple[str, str]]:
    """(link, HTML) of a page for each letter, and of one that leads to them: a file cannot search."""
    letters: dict[str, list[dict[str, str]]] = {}
    for text, name, thing in sorted(_all_names(shop), key=lambda n: (fold(n[0]), n[2])):
        says = name if text.casefold() != name.casefold() else ""
        letters.setdefault(_letter(text), []).append(
            {"text": text, "says": says, "href": f"/wood/{quote(thing, safe='')}"}
        )
    links = [{"letter": letter, "href": f"{NAMES}/{_under(letter)}"} for letter in letters]
    yield NAMES, _own(shop, "All names", [], links, NAMES)
    for letter, rows in letters.items():
        here = f"{NAMES}/{_under(letter)}"
        yield here, _own(shop, f"Names with {letter}", rows, links, here)


def _own(shop: Shop, title: str, rows: list[dict[str, str]], links: list[dict[str, str]], here: str) -> str:
    values = {"rows": rows, "letters": links}
    return draw(Page("names.html", title, values), Ask(shop, here=here)).body


def _all_names(shop: Shop) -> Iterable[tuple[str, str, str]]:
    """(a name, the usual name of what it means, id)."""
    rows = shop.catalogue.rows(
        "SELECT DISTINCT n.text, m.name, m.id FROM name n JOIN material m ON m.id = n.material_id "
        "WHERE n.kind <> 'id'"
    )
    yield from ((row["text"], row["name"], row["id"]) for row in rows)
    for key, glue in shop.catalogue.adhesives.items():
        for name in glue["names"]:
            yield str(name["text"]), str(glue["names"][0]["text"]), key


def _letter(text: str) -> str:
    first = fold(text)[:1].upper()
    return first if first.isascii() and first.isalpha() else "other signs"


def _under(letter: str) -> str:
    return letter.lower().replace(" ", "-")


# --- names of files


def file_names(links: Iterable[str]) -> dict[str, str]:
    """Link -> file below the folder, the same for the same links; unlike even where capitals are not told
    apart."""
    out: dict[str, str] = {}
    taken: set[str] = set()
    for link in links:
        path, _, query = link.partition("?")
        parts = [_plain(unquote(part)) for part in path.strip("/").split("/")]
        turned = f"-{_plain(query.replace('=', '-'))}" if query else ""
        name = f"{'/'.join(parts)}{turned}.html" if path != "/" else f"index{turned}.html"
        if name.casefold() in taken:
            name = f"{name.removesuffix('.html')}-{hashlib.sha256(link.encode()).hexdigest()[:8]}.html"
        taken.add(name.casefold())
        out[link] = name
    return out


def _plain(text: str) -> str:
    """A name that any disk takes."""
    return re.sub(r"[^A-Za-z0-9_-]+", "_", text)[:100] or "_"
