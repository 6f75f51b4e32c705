"""What the stock book prints, with eyes and without: sheet, labels, slip, page to fetch by, repair kit.
axe finds nothing, nothing is asked of anybody, nothing is cut off on a telephone, and it fits its paper."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from click.testing import CliRunner

from woodref.cli.main import main

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

HERE = Path(__file__).resolve().parent
SCENARIO = HERE.parent / "provenance" / "data" / "scenario.json"
SEAT = HERE.parent.parent / "data" / "demo" / "seat-shell.yaml"
#: name -> (its command, how many A4 pages at most)
PRINTED = {
    "sheet": (("sheet", "STOOL-002", "--maker", "Quillbeck Benders, Harrowmere", "--out", "sheet"), 3),
    "labels": (("stock", "label", "L-A", "L-B", "L-C", "L-D", "--out", "labels.html"), 1),
    "slip": (("stock", "slip", "L-B", "--out", "slip.html"), 1),
    "pick": (("stock", "pick", "--layup", str(SEAT), "--out", "pick.html"), 1),
    "kit": (("item", "repair-kit", "STOOL-002", "--out", "kit.html"), 2),
}  # fmt: skip


@pytest.fixture(scope="module")
def printed(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    """A folder with each of them, made by the commands."""
    folder = tmp_path_factory.mktemp("printed")
    patch = pytest.MonkeyPatch()
    patch.chdir(folder)
    patch.setenv("WOODREF_BOOK", str(folder / "book.sqlite"))
    patch.setenv("WOODREF_KEY", str(folder / "maker.key"))
    try:
        closed = ("item", "close", "STOOL-002", "--label", "contains unproven material")
        for words in (("book", "record", str(SCENARIO)), closed, *(words for words, _ in PRINTED.values())):
            told = CliRunner().invoke(main, list(words))
            assert told.exit_code == 0, told.output
        yield folder
    finally:
        patch.undo()


@pytest.mark.parametrize("name", PRINTED)
def test_a_printed_page_reads_well(
    name: str, printed: Path, browser: Browser, axe: Callable[[Page], list[str]], pictures: Path
) -> None:
    file = printed / ("sheet/sheet.html" if name == "sheet" else f"{name}.html")
    asked: list[str] = []
    for width in (1200, 360):
        page = browser.new_page(viewport={"width": width, "height": 900})
        page.on("request", lambda request: asked.append(request.url))
        page.goto(file.as_uri())
        assert axe(page) == []
        wide: Any = page.evaluate("document.scrollingElement.scrollWidth - innerWidth")
        # labels and slips are paper: they have the size of the sheet they are printed on
        assert wide <= 0 or (width == 360 and name in ("labels", "slip", "pick")), (width, wide)
        page.screenshot(path=str(pictures / f"printed-{name}-{width}.png"), full_page=True)
        if width == 1200:
            paper = page.pdf(prefer_css_page_size=True)
            assert len(re.findall(rb"/Type\s*/Page\b", paper)) <= PRINTED[name][1]
        page.close()
    assert asked == [file.as_uri()] * 2
