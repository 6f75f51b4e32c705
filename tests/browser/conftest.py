"""The real explorer in a child process, and a real browser that watches itself.

Debian's Chromium is driven by Playwright; no browser is downloaded. Where there is none these tests are
skipped with that reason, unless WOODREF_DEMAND_BROWSER is set: then its absence is a failure.
axe/ holds axe-core 4.14.1 as published, unchanged, under the Mozilla Public License 2.0 (axe/LICENSE); its
source is named in the head of the file.
"""

from __future__ import annotations

import json
import os
import re
import select
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

if TYPE_CHECKING:
    from playwright.sync_api import Browser, ConsoleMessage, Page, Request, Response

HERE = Path(__file__).resolve().parent
AXE = HERE / "axe" / "axe.min.js"
SCENARIO = HERE.parent / "provenance" / "data" / "scenario.json"
#: a browser that talks to nobody of its own accord
QUIET = (
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync", "--disable-dev-shm-usage",
)  # fmt: skip
WIDE, PHONE = (1200, 900), (360, 740)


def _chromium() -> str | None:
    named = os.environ.get("WOODREF_CHROMIUM")
    return named or shutil.which("chromium") or shutil.which("chromium-browser")


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    """One browser a file of tests; it is ended before other tests want an event loop of their own."""
    program = _chromium()
    if program is None:
        told = "no Chromium is installed (Debian: apt-get install chromium; or name one in WOODREF_CHROMIUM)"
        if os.environ.get("WOODREF_DEMAND_BROWSER"):
            pytest.fail(told)
        pytest.skip(told)
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        opened = playwright.chromium.launch(executable_path=program, args=list(QUIET))
        yield opened
        opened.close()


def _first_line(child: subprocess.Popen[str], seconds: float) -> str:
    """What the child says first; AssertionError when it says nothing in time."""
    assert child.stdout is not None
    ready, _, _ = select.select([child.stdout], [], [], seconds)
    assert ready, "woodref explore said nothing"
    return child.stdout.readline()


@pytest.fixture(scope="session")
def book_copy(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The public copy of the invented workshop's book after its whole scenario."""
    from click.testing import CliRunner

    from woodref.cli.main import main
    from woodref.provenance.publish import publish
    from woodref.provenance.shapes import event_of
    from woodref.provenance.store import Store

    told = json.loads(SCENARIO.read_text("utf-8"))
    lots = {lot["id"]: {k: v for k, v in lot.items() if k not in ("id", "qty")} for lot in told["lots"]}
    folder = tmp_path_factory.mktemp("book")
    with Store(f"sqlite:///{folder / 'book.sqlite'}", lambda name: (name, ())) as book:
        book.record([event_of(event, lots, told["documents"]) for event in told["events"]])
    at = {"WOODREF_BOOK": str(folder / "book.sqlite"), "WOODREF_KEY": str(folder / "maker.key"),
          "WOODREF_TODAY": "2026-06-01"}  # fmt: skip
    given = CliRunner().invoke(main, ["sheet", "STOOL-001", "--out", str(folder / "sheet")], env=at)
    assert given.exit_code == 0, given.output
    with Store(f"sqlite:///{folder / 'book.sqlite'}") as book:
        publish(book, folder / "public.sqlite", shelf=True, sheets=True)
    return folder / "public.sqlite"


@pytest.fixture(scope="session")
def site(cache: Path, book_copy: Path) -> Iterator[str]:
    """The address of a running `woodref explore`, with the public copy of a book."""
    words = [sys.executable, "-m", "woodref", "explore", "--port", "0", "--book-copy", str(book_copy)]
    told = os.environ | {"WOODREF_CACHE": str(cache), "WOODREF_TODAY": "2026-06-01", "PYTHONUNBUFFERED": "1"}
    child = subprocess.Popen(words, env=told, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True)
    try:
        line = _first_line(child, 60)
        found = re.search(r"http://127\.0\.0\.1:\d+", line)
        assert found, line
        yield found[0]
        assert child.poll() is None, "woodref explore ended by itself"
    finally:
        child.terminate()
        rest = child.communicate(timeout=20)[0]
    assert "Traceback" not in rest, rest


class Watch:
    """What a page must never do: ask another host, complain on the console, lose a file of its own."""

    def __init__(self, site: str, page: Page) -> None:
        self.site, self.faults = site, []
        page.on("request", self._request)
        page.on("response", self._response)
        page.on("console", self._console)
        page.on("pageerror", lambda fault: self.faults.append(f"script error: {fault}"))

    def _request(self, request: Request) -> None:
        if not request.url.startswith((f"{self.site}/", "data:", "blob:")):
            self.faults.append(f"asked another host: {request.url}")

    def _response(self, response: Response) -> None:
        document = response.request.resource_type == "document"
        if response.status >= 500 or (response.status >= 400 and not document):
            self.faults.append(f"{response.status} for {response.url}")

    def _console(self, message: ConsoleMessage) -> None:
        # a page that says 400 or 404 is a page; that its files are there is seen by _response
        if message.type in ("error", "warning") and not message.text.startswith("Failed to load resource"):
            self.faults.append(f"console: {message.text}")


Opened = Callable[..., "Page"]


@pytest.fixture
def opened(browser: Browser, site: str) -> Iterator[Opened]:
    """A page of its own: opened(path, size=WIDE, dark=False, script=True). It is watched to the end."""
    watches, contexts = [], []

    def make(path: str, size: tuple[int, int] = WIDE, dark: bool = False, script: bool = True) -> Page:
        context = browser.new_context(
            base_url=site, viewport={"width": size[0], "height": size[1]}, java_script_enabled=script,
            color_scheme="dark" if dark else "light", has_touch=size == PHONE, reduced_motion="reduce",
        )  # fmt: skip
        context.set_default_timeout(15_000)
        contexts.append(context)
        page = context.new_page()
        watches.append(Watch(site, page))
        page.goto(path)
        return page

    yield make
    for context in contexts:
        context.close()
    faults = [fault for watch in watches for fault in watch.faults]
    assert not faults, "\n".join(faults)


def violations(page: Page) -> list[str]:
    """What axe finds wrong with the page as it stands."""
    if not page.evaluate("typeof window.axe === 'object'"):
        page.evaluate(AXE.read_text("utf-8"))
    found: dict[str, Any] = page.evaluate("axe.run(document, {resultTypes: ['violations']})")
    return [
        f"{rule['id']} ({rule['help']}): {node['html'][:200]} {node['failureSummary'][:300]}"
        for rule in found["violations"]
        for node in rule["nodes"]
    ]


@pytest.fixture(scope="session")
def axe() -> Callable[[Page], list[str]]:
    return violations


@pytest.fixture(scope="session")
def pictures(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Where screenshots go: the folder of WOODREF_SCREENSHOTS, else one that is thrown away."""
    named = os.environ.get("WOODREF_SCREENSHOTS")
    folder = Path(named) if named else tmp_path_factory.mktemp("screenshots")
    folder.mkdir(parents=True, exist_ok=True)
    return folder
