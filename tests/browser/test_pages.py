"""Every page as a person meets it: wide and on a phone, light and dark, by axe, by ruler and on paper."""

from __future__ import annotations

import csv
import re
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

if TYPE_CHECKING:
    from playwright.sync_api import Page

Opened = Callable[..., "Page"]
LISTED = Path(__file__).resolve().parents[1] / "explorer" / "pages.csv"
PAGES = [(row["page"], row["path"]) for row in csv.DictReader(LISTED.read_text("utf-8").splitlines())]
#: files that are no page
BARE = ("layup:written", "layup:style")
OURS = [path for page, path in PAGES if page != "tables" and page not in BARE]
TABLES = [path for page, path in PAGES if page == "tables"]
SIZES = ((1200, 900), (360, 740))

#: what is lower than a finger needs. A link within a sentence is as high as its line, a mark in a picture as
#: large as the picture lets it be (the table under it links the same); a box counts with its label.
TOO_LOW = """() => {
  const inSentence = (link) => {
    if (getComputedStyle(link).display !== 'inline') return false;
    const block = link.closest('p, li, td, th, dd, dt, figcaption, caption, div, section, label');
    if (!block) return false;
    const copy = block.cloneNode(true);
    copy.querySelectorAll('a').forEach((other) => other.remove());
    return copy.textContent.trim().length > 2;
  };
  const out = [];
  for (const node of document.querySelectorAll('a[href], button, input, select, textarea, summary')) {
    if (node.closest('svg') || node.type === 'hidden' || node.matches('.skip')) continue;
    const box = node.getBoundingClientRect();
    if (!box.width || !box.height) continue;
    if (node.tagName === 'A' && inSentence(node)) continue;
    let height = box.height;
    if (node.labels && ['checkbox', 'radio'].includes(node.type)) {
      for (const label of node.labels) height = Math.max(height, label.getBoundingClientRect().height);
    }
    if (height < 43.5) out.push(`${node.outerHTML.slice(0, 120)}: ${height} px`);
  }
  return out;
}"""

#: what stands out to the right of the window, for the person who mends it
STICKS_OUT = """() => [...document.querySelectorAll('body *')]
  .filter((node) => node.getBoundingClientRect().right > innerWidth + 1 && !node.closest('.wide'))
  .slice(0, 5).map((node) => node.outerHTML.slice(0, 120))"""


def called(path: str, *more: str) -> str:
    """A name for the picture of a page."""
    bare = re.sub(r"[^A-Za-z0-9]+", "-", path).strip("-")[:60] or "start"
    return "-".join((bare, *more)) + ".png"


@pytest.mark.parametrize("path", [*OURS, *TABLES])
def test_a_page_is_fit_to_be_read(
    path: str, opened: Opened, axe: Callable[[Any], list[str]], pictures: Path
) -> None:
    """No violation of axe and nothing to scroll sideways, at both widths and in both lights."""
    page = opened(path)
    faults: list[str] = []
    for width, height in SIZES:
        page.set_viewport_size({"width": width, "height": height})
        for light in ("light", "dark"):
            page.emulate_media(color_scheme=light)
            faults += [f"{width} {light}: {fault}" for fault in axe(page)]
            page.screenshot(path=pictures / called(path, str(width), light), full_page=True)
        across = page.evaluate("document.scrollingElement.scrollWidth - innerWidth")
        if across > 0 and path in OURS:
            faults.append(f"{width}: {across} px stick out: {page.evaluate(STICKS_OUT)}")
    assert not faults, "\n".join(faults)


@pytest.mark.parametrize("path", OURS)
def test_a_finger_meets_what_it_aims_at(path: str, opened: Opened) -> None:
    page = opened(path, size=SIZES[1])
    page.evaluate("document.querySelectorAll('details').forEach((one) => { one.open = true; })")
    assert not page.evaluate(TOO_LOW)
    assert page.evaluate("parseFloat(getComputedStyle(document.body).fontSize)") >= 16


@pytest.mark.parametrize("path", OURS)
def test_on_paper_a_page_keeps_its_answer_and_drops_its_doors(
    path: str, opened: Opened, pictures: Path
) -> None:
    page = opened(path)
    page.emulate_media(media="print")
    assert page.locator("h1").is_visible()
    assert not page.locator("header nav").is_visible()
    printed = page.pdf(format="A4")
    (pictures / called(path)).with_suffix(".pdf").write_bytes(printed)
    assert printed.startswith(b"%PDF") and 1 <= len(re.findall(rb"/Type /Page\b", printed)) <= 24
