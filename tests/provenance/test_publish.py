"""The public copy: what anybody may see, and not one byte of anything else."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest

from woodref.errors import BadRequest
from woodref.provenance.faults import Busy
from woodref.provenance.parties import open_parties
from woodref.provenance.publish import publish
from woodref.provenance.shapes import Event, event_of
from woodref.provenance.store import Store

SQLITE_ALONE = "the public copy is made of a book in a file"

Make = Callable[..., Event]


def rows(path: Path, sql: str) -> list[tuple[Any, ...]]:
    with closing(sqlite3.connect(f"file:{path}?mode=ro", uri=True)) as opened:
        return opened.execute(sql).fetchall()


def test_the_stool_as_anybody_may_see_it(full: Store, make: Make, tmp_path: Path) -> None:
    paper = {"id": "PUB", "kind": "phytosanitary-certificate", "lot": "L-A", "tier": "public",
             "issued_on": "2025-08-30", "number": "PC-7"}  # fmt: skip
    full.record([make("A", "attach-document", document=paper)])
    path = tmp_path / "public.sqlite"
    done = publish(full, path)
    # STOOL-002 is open and stays in the shop
    assert rows(path, "SELECT item, state, made, closed, label FROM item") == [
        ("STOOL-001", "shipped", "2025-10", "2025-10", None)
    ]
    assert (done.items, done.not_shown, done.papers) == (1, 1, 1)
    # scenario.md: 950.4 g, 102 g, 55.8 g of wood, 768 g
    assert rows(path, "SELECT part, lot, wood, countries, wood_mg, proof FROM part ORDER BY part, lot") == [
        ("LEGS-1", "L-A", "Fagus sylvatica", "SI", 950_400, "documented"),
        ("SEAT-1", "L-B", "Dalbergia latifolia", "IN", 102_000, "documented"),
        ("SEAT-1", "L-D", "Populus x canadensis", "IT", 55_800, "documented"),
        ("SEAT-1", "L-E", "Betula pendula", "FI", 768_000, "documented"),
    ]
    assert rows(path, "SELECT lot, form FROM used ORDER BY lot") == [("F-1", "finish"), ("G-1", "adhesive")]
    assert rows(path, "SELECT item, lot, kind, issued FROM paper") == [
        ("STOOL-001", "L-A", "phytosanitary-certificate", "2025-08-30")
    ]
    about = dict(rows(path, "SELECT key, value FROM about"))
    assert (about["head"], about["events"]) == (full.head()[1], "21")
    assert ("Fagus sylvatica", "SI", 1) in rows(path, "SELECT * FROM wood")
    assert {r[0] for r in rows(path, "SELECT name FROM sqlite_master WHERE type <> 'index'")} == {
        "about", "item", "part", "used", "wood", "paper"
    }  # fmt: skip


def test_what_is_not_known_stands_there_as_not_known(full: Store, make: Make, tmp_path: Path) -> None:
    full.record([make("A", "close", item="STOOL-002", label="contains unproven material")])
    full.record(
        [make("B", "attach-document", document={"id": "S", "kind": "supplier-declaration", "lot": "L-C"})]
    )
    path = tmp_path / "public.sqlite"
    publish(full, path)
    assert rows(path, "SELECT countries, wood_mg, proof FROM part WHERE lot = 'L-C'") == [
        ("", 68_000, "stated by supplier")
    ]
    assert rows(path, "SELECT label FROM item WHERE item = 'STOOL-002'") == [("contains unproven material",)]


def test_the_same_book_gives_the_same_bytes(full: Store, tmp_path: Path) -> None:
    one, two = tmp_path / "one.sqlite", tmp_path / "two.sqlite"
    publish(full, one)
    publish(full, two)
    assert one.read_bytes() == two.read_bytes()
    publish(full, one)  # over a former one
    assert one.read_bytes() == two.read_bytes()
    assert sorted(p.name for p in tmp_path.glob("*.sqlite*") if "book" not in p.name) == [
        "one.sqlite", "two.sqlite"
    ]  # fmt: skip


def test_a_book_that_grows_meanwhile_is_read_anew(
    full: Store, make: Make, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from woodref.provenance import publish as module

    real, times = module.papers_of, list[int]()

    def grows(store: Store) -> Any:
        found = real(store)
        times.append(1)
        if len(times) <= grown:
            full.record([make(f"N{len(times)}", "annotate", lot="L-A")])
        return found

    monkeypatch.setattr(module, "papers_of", grows)
    grown = 2
    done = publish(full, tmp_path / "public.sqlite")
    assert (done.events, len(times)) == (22, 3) and done.head == full.head()[1]
    grown = 99
    with pytest.raises(Busy):
        publish(full, tmp_path / "public.sqlite")


def test_the_shelf_is_in_it_when_it_is_asked_for(full: Store, make: Make, tmp_path: Path) -> None:
    full.record(
        [
            make("S", "annotate", lot="L-B", shelf="rack 1"),
            make("T", "reserve", lot="L-B", qty=720_000),
        ]
    )
    bare, path = tmp_path / "public.sqlite", tmp_path / "shop.sqlite"
    assert publish(full, bare).lots is None
    done = publish(full, path, shelf=True)
    assert "shelf" not in {r[0] for r in rows(bare, "SELECT name FROM sqlite_master")}
    # what is used up, items and pressed sheets that are gone are not on it; amounts as in scenario.md
    assert rows(
        path, "SELECT lot, on_hand, free, leaves, leaves_free, lies, proof FROM shelf ORDER BY lot"
    ) == [
        ("F-1", 1_880_000, 1_880_000, None, None, None, "not known"),
        ("G-1", 9_080_000, 9_080_000, None, None, None, "not known"),
        ("L-A", 17_000_000, 17_000_000, 34, 34, None, "documented"),
        ("L-B", 3_600_000, 2_880_000, 10, 8, "rack 1", "documented"),
        ("L-C", 720_000, 720_000, 2, 2, None, "not known"),
        ("L-D", 14_400_000, 14_400_000, 9, 9, None, "documented"),
        ("L-E", 25_920_000, 25_920_000, 18, 18, None, "documented"),
        ("L-F", 184_000, 184_000, None, None, None, "documented"),
        ("L-G", 92_000, 92_000, None, None, None, "not known"),
        ("L-J", 480_000, 480_000, None, None, None, "documented"),
        ("L-K", 814_200, 814_200, None, None, None, "documented"),
    ]
    # an offcut tells of the lot it was cut from; where that is not known it says so
    asked = "SELECT lot, countries, country_unknown FROM shelf WHERE lot IN ('L-F', 'L-G', 'G-1')"
    assert rows(path, asked) == [("G-1", "", 0), ("L-F", "IN", 0), ("L-G", "", 1)]
    assert done.lots == 11 and done.as_dict()["lots"] == 11
    assert any("Keep this copy to yourself" in line for line in done.sentences())
    assert not any("shelves" in line for line in done.sentences())
    # not for everybody on this machine either; the same bytes again; and the one to give away in its place
    assert path.stat().st_mode & 0o777 == 0o600 and bare.stat().st_mode & 0o777 == 0o644
    before = path.read_bytes()
    publish(full, path, shelf=True)
    assert path.read_bytes() == before
    publish(full, path)
    assert path.read_bytes() == bare.read_bytes() and path.stat().st_mode & 0o777 == 0o644


def test_slugs_cannot_be_counted_or_guessed(full: Store, make: Make, tmp_path: Path) -> None:
    full.record([make("A", "close", item="STOOL-002")])
    path = tmp_path / "public.sqlite"
    publish(full, path)
    slugs = [r[0] for r in rows(path, "SELECT slug FROM item ORDER BY item")]
    assert len(set(slugs)) == 2 and all(len(s) == 32 and int(s, 16) >= 0 for s in slugs)
    # the key of the slugs is the random id of the book, which is in no public copy
    secret = full.rows("SELECT value FROM meta WHERE key = 'book'")[0][0]
    assert secret.encode() not in path.read_bytes()


def test_nothing_else_is_written_over(full: Store, tmp_path: Path) -> None:
    book = Path(full.url.removeprefix("sqlite:///"))
    before = book.read_bytes()
    other = tmp_path / "letter.txt"
    other.write_text("x" * 100)
    for path in (book, other):
        with pytest.raises(BadRequest, match="is no public copy"):
            publish(full, path)
    assert book.read_bytes() == before and other.read_text() == "x" * 100
    with pytest.raises(BadRequest, match="there is no folder"):
        publish(full, tmp_path / "none" / "public.sqlite")
    with pytest.raises(BadRequest):
        publish(full, tmp_path)


def test_an_empty_book(store: Store, tmp_path: Path) -> None:
    done = publish(store, tmp_path / "public.sqlite")
    assert (done.items, done.events) == (0, 0)
    assert done.sentences()[0].endswith("with 0 items, 0 woods and 0 public papers (kind and date).")


#: a word of its own for every field that is not for the public
LOT_SECRETS = (
    "region", "stand", "harvest", "acquired", "source_code", "cut", "bundle", "flitch", "moisture_by",
    "moisture_on", "shelf", "currency", "supplier", "grade", "as_received", "claim_words", "place",
    "emission",
)  # fmt: skip


def test_no_word_of_a_field_that_is_not_public_is_in_its_bytes(store: Store, tmp_path: Path) -> None:
    planted: list[str] = []

    def secret(field: str) -> str:
        planted.append(f"Sentinel{field.replace('_', '').title()}{len(planted):03}")
        return planted[-1]

    def event(name: str, kind: str, **more: Any) -> Event:
        return event_of({"id": name, "kind": kind, "time": "2026-01-05T09:00:00+01:00", **more})

    facts: dict[str, Any] = {
        "form": "veneer", "species": "Betula pendula", "thickness_um": 600, "country": "FI",
        "density_kg_m3": 640, "trade": "silver birch", "price": "918273.45",
        "leaf_notes": {"1": secret("leafnote")},
    }  # fmt: skip
    facts |= {key: secret(key) for key in LOT_SECRETS}
    glue = {
        "form": "adhesive",
        "trade": secret("gluewords"),
        "shelf": secret("glueshelf"),
        "material": "pva-d3",
    }
    idle = facts | {"trade": secret("idletrade"), "supplier": secret("idlesupplier")}
    papers = [
        {"id": secret("paperid"), "kind": "invoice", "lot": "W-1", "tier": tier, "number": secret("number"),
         "issuer": secret("issuer"), "about": secret("about"), "checked_how": secret("checkedhow")}
        for tier in ("public", "customer", "auditor", "private", None)
    ]  # fmt: skip
    mm2 = {"unit": "mm2"}
    store.record(
        [
            event(secret("eventid"), "receive", note=secret("note"), documents=papers,
                  out=[{"lot": "W-1", "qty": 1000, **mm2}, {"lot": secret("idlelot"), "qty": 5, **mm2},
                       {"lot": "G-1", "qty": 9, "unit": "mg"}],
                  lots={"W-1": facts, planted[-1]: idle, "G-1": glue}),
            event("K", "annotate", lot="W-1", what=secret("what"), value=secret("value")),
            event("V", "reserve", lot="W-1", qty=1),
            event("M", "assemble", note=secret("makenote"), serial=secret("serial"), mould=secret("mould"),
                  layup=secret("layup"), glue_lot=secret("gluelot"),
                  **{"in": [{"lot": "W-1", "qty": 500, **mm2}, {"lot": "G-1", "qty": 3, "unit": "mg"}]},
                  out=[{"lot": "TRAY-1", "qty": 1, "unit": "pcs"}]),
            event("O", "assemble", **{"in": [{"lot": "W-1", "qty": 100, **mm2}]},
                  out=[{"lot": secret("openitem"), "qty": 1, "unit": "pcs"}]),
            event("C", "close", item="TRAY-1", label="birch from Finland", care=secret("care")),
        ],
        actor=secret("actor"),
    )  # fmt: skip
    with open_parties() as parties:
        whom = parties.add("buyer", secret("buyer"), (secret("contact"),))
    planted += [whom.id, "918273.45"]
    store.record([event("S", "ship", to=whom.id, **{"in": [{"lot": "TRAY-1", "qty": 1, "unit": "pcs"}]})])
    path = tmp_path / "public.sqlite"
    done = publish(store, path)
    assert (done.items, done.papers) == (1, 1)
    body = path.read_bytes()
    assert not [word for word in planted if word.encode() in body]
    # and they are in the book, so that the search can fail; the buyer's are with the parties
    with closing(sqlite3.connect(store.url.removeprefix("sqlite:///"))) as opened:
        opened.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    book = Path(store.url.removeprefix("sqlite:///")).read_bytes()
    assert [word for word in planted if word.encode() not in book] == [
        w for w in planted if w.startswith(("SentinelBuyer", "SentinelContact"))
    ]
    for word in ("TRAY-1", "Betula pendula", "silver birch", "birch from Finland", "pva-d3", "invoice"):
        assert word.encode() in body
    # with the shelf, where things lie and what glues and idle lots are called come to it, and no more
    shop = tmp_path / "shop.sqlite"
    publish(store, shop, shelf=True)
    told = {word for word in planted if word.encode() in shop.read_bytes()}
    assert {word.rstrip("0123456789") for word in told} == {
        "SentinelShelf", "SentinelGlueshelf", "SentinelGluewords", "SentinelIdletrade", "SentinelIdlelot",
        "SentinelCut",
    }  # fmt: skip
    lots = {cell for row in rows(shop, "SELECT * FROM shelf") for cell in row if isinstance(cell, str)}
    assert lots == told | {
        "W-1", "G-1", "veneer", "adhesive", "Betula pendula", "silver birch", "-", "mm2", "mg", "FI",
        "documented", "not known", "",
    }  # fmt: skip
    # every cell, read as a table, is one of what is meant to be there
    cells = {
        str(c)
        for t in ("item", "part", "used", "wood", "paper")
        for r in rows(path, f"SELECT * FROM {t}")
        for c in r
    }
    slug = rows(path, "SELECT slug FROM item")[0][0]
    assert cells == {
        "TRAY-1", slug, "shipped", "2026-01", "birch from Finland", "W-1", "veneer", "Betula pendula",
        "silver birch", "FI", "unknown", "192", "documented", "G-1", "adhesive", "pva-d3", "1",
        "invoice", "None",
    }  # fmt: skip
