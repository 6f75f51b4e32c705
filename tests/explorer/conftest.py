"""The explorer as a browser meets it: behind its guards, asked in process; a book of the Quillbeck Benders
with its public copies, and words planted where nobody but the maker may read them."""

from __future__ import annotations

import json
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import httpx
import pytest
from click.testing import CliRunner

from woodref.catalogue.reader import Catalogue
from woodref.cli.main import main
from woodref.explorer.asking import Shop
from woodref.explorer.guards import Rules
from woodref.explorer.serving import app_of, explorer

SCENARIO = Path(__file__).resolve().parents[1] / "provenance" / "data" / "scenario.json"
HERE = "http://127.0.0.1:8321"

Served = Callable[..., Any]


@dataclass(frozen=True)
class Books:
    """book: the real one; public, shop: its copies without and with the shelf; signed: with the shelf and the
    customer sheet; parties: who bought; planted: words that stand in the book or with the parties and in no
    copy, but for the flitch and the number of a public paper, which stand on the sheet."""

    book: Path
    public: Path
    shop: Path
    signed: Path
    parties: Path
    planted: tuple[str, ...]


@pytest.fixture(scope="session")
def books(tmp_path_factory: pytest.TempPathFactory) -> Books:
    """A book with a shelf, a buyer, prices and notes, and its two copies."""
    from woodref.provenance.parties import open_parties
    from woodref.provenance.publish import publish
    from woodref.provenance.shapes import event_of
    from woodref.provenance.store import Store

    folder = tmp_path_factory.mktemp("books")
    told: dict[str, Any] = json.loads(SCENARIO.read_text("utf-8"))
    lots = {lot["id"]: {k: v for k, v in lot.items() if k not in ("id", "qty")} for lot in told["lots"]}
    lots["L-A"] |= {"shelf": "rack 3, by the door", "supplier": "PlantedSupplier", "price": "918273.45",
                    "currency": "EUR", "grade": "PlantedGrade", "cut": "quarter",
                    "flitch": "PlantedFlitch"}  # fmt: skip
    lots["G-1"] |= {"material": "hide-glue", "trade": "pearl glue", "supplier": "PlantedGluer"}
    places = [
        {"id": "P-1", "kind": "annotate", "lot": "L-B", "shelf": "rack 1", "note": "PlantedNote",
         "time": "2025-11-03T09:00:00+01:00"},
        {"id": "P-2", "kind": "reserve", "lot": "L-B", "qty": 720_000, "time": "2025-11-03T09:05:00+01:00"},
        {"id": "P-3", "kind": "attach-document", "time": "2025-11-03T09:10:00+01:00",
         "document": {"id": "PlantedPaper", "kind": "invoice", "lot": "L-B", "tier": "private",
                      "number": "PlantedNumber", "about": "PlantedAbout"}},
        {"id": "P-4", "kind": "attach-document", "time": "2025-11-03T09:15:00+01:00",
         "document": {"id": "PUB", "kind": "phytosanitary-certificate", "lot": "L-A", "tier": "public",
                      "issued_on": "2025-08-30", "number": "PlantedPublicNumber"}},
    ]  # fmt: skip
    book, parties = folder / "book.sqlite", folder / "parties.sqlite"
    with Store(f"sqlite:///{book}") as store:
        store.record([event_of(e, lots, told["documents"]) for e in told["events"]], actor="PlantedActor")
        store.record([event_of(e) for e in places])
        publish(store, folder / "public.sqlite")
        publish(store, folder / "shop.sqlite", shelf=True)
    words = ("sheet", "STOOL-001", "--maker", "Quillbeck Benders", "--out", str(folder / "sheet"))
    at = {"WOODREF_BOOK": str(book), "WOODREF_KEY": str(folder / "maker.key"), "WOODREF_TODAY": "2026-06-01"}
    given = CliRunner().invoke(main, words, env=at)
    assert given.exit_code == 0, given.output
    with Store(f"sqlite:///{book}") as store:
        publish(store, folder / "signed.sqlite", shelf=True, sheets=True)
    with open_parties(str(parties)) as opened:
        opened.add("buyer", "Planted Thripple", ("planted@thripple.example",))
    return Books(
        book, folder / "public.sqlite", folder / "shop.sqlite", folder / "signed.sqlite", parties,
        ("PlantedSupplier", "PlantedGrade", "PlantedFlitch", "PlantedGluer", "PlantedNote", "PlantedPaper",
         "PlantedNumber", "PlantedAbout", "PlantedPublicNumber", "PlantedActor", "918273", "Thripple",
         "thripple.example"),
    )  # fmt: skip


@pytest.fixture
def served(catalogue: Catalogue) -> Served:
    """`async with served(book_copy, rules) as client`: a browser that meets the explorer."""

    @asynccontextmanager
    async def opened(
        book_copy: Path | None = None, rules: Rules | None = None, base: str = HERE
    ) -> AsyncIterator[httpx.AsyncClient]:
        rules = rules or Rules()
        made = explorer(Shop(catalogue, book_copy, rules.public), rules)
        await made.invoke_startup()
        transport = httpx.ASGITransport(app=app_of(made))  # type: ignore[arg-type]
        async with httpx.AsyncClient(transport=transport, base_url=base) as client:
            yield client

    return opened
