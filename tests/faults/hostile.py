"""Every reader of text that a stranger may hand in, one function each, for the sweep and the fuzzer.

Each takes bytes, and either reads them or refuses them with a WoodrefError whose sentence is short and shows
control signs instead of sending them; anything else is a fault of ours.
"""

from __future__ import annotations

import datetime as dt
import functools
import os
import shutil
import tempfile
import zipfile
from collections.abc import Callable
from pathlib import Path

from woodref.catalogue.reader import Catalogue
from woodref.errors import WoodrefError, visible

DATA = Path(__file__).resolve().parent.parent.parent / "data"
#: signs that a refusal may have, its list of things to mend apart: none repeats a page that it was given
LONGEST_SENTENCE = 1500
ON = dt.date(2026, 6, 1)


@functools.cache
def catalogue() -> Catalogue:
    """The catalogue of the clone, in the cache that the process has."""
    from woodref.catalogue.reader import open_catalogue

    return open_catalogue(DATA, Path(os.environ["WOODREF_CACHE"]))


@functools.cache
def _copy() -> Path:
    """A small data folder to spoil one file of: all of it but the woods, and a few of those."""
    place = Path(tempfile.mkdtemp(prefix="woodref-spoilt-", dir=os.environ["WOODREF_CACHE"])) / "data"
    shutil.copytree(DATA, place, ignore=shutil.ignore_patterns("demo", "species"))
    (place / "species").mkdir()
    shutil.copy(DATA / "species" / "alnus-rubra.yaml", place / "species")
    return place


def spoilt(file: str) -> Callable[[bytes], None]:
    """A check of the data in which one file holds these bytes. Its findings are values: none is raised."""

    def check(body: bytes) -> None:
        from woodref.catalogue.check import load_all

        path = _copy() / file
        whole = path.read_bytes()
        try:
            path.write_bytes(body)
            for finding in load_all(_copy()).findings:
                line = str(finding)
                assert line == visible(line) and "\n" not in line, line
        finally:
            path.write_bytes(whole)

    return check


def yaml_text(body: bytes) -> None:
    """The strict reader itself, and the lines it tells faults with."""
    from woodref.catalogue.yamlload import line_of, load

    _, found = load(body, "file.yaml")
    assert all(1 <= f.line <= body.count(b"\n") + body.count(b"\r") + 2 for f in found) or b"\xe2\x80" in body
    assert line_of(body, ("a", 0, "b")) >= 1


def numbers(body: bytes) -> None:
    """Quantities, ranges, temperatures, days and the amounts of the stock book."""
    from woodref import units
    from woodref.provenance.amounts import amount, length, thickness

    text = body.decode("utf-8", "surrogateescape")
    readers: tuple[Callable[[str], object], ...] = (
        units.number, units.quantity, units.celsius, units.date, units.day_or_year, units.unit_named,
        lambda t: units.quantity(t, "mm").to("in"), lambda t: units.span(t, "kg/m3"),
        lambda t: units.span(f"..{t}", "mm"), amount, thickness, lambda t: length(t, 1),
    )  # fmt: skip
    for reader in readers:
        refused_or_read(lambda _, reader=reader: reader(text), body)  # type: ignore[misc]


def layup(body: bytes) -> None:
    """A layup file, and the pack that is worked out of it."""
    from woodref.layup.layupfile import layup_of, parse, written_out
    from woodref.layup.reading import Faults

    value = parse(body, "seat.yaml")
    faults = Faults("seat.yaml", body)
    value["plies"] = written_out(value, faults)
    layup_of(value, faults)


#: a bundle as the first edition of its shape wrote it
BUNDLE = Path(__file__).resolve().parent / "bundle-v1.zip"


@functools.cache
def in_bundle(name: str) -> bytes:
    """One file of it."""
    with zipfile.ZipFile(BUNDLE) as opened:
        return opened.read(name)


def zipped(body: bytes) -> None:
    """A bundle: the zip itself, and all that is in it."""
    from woodref.layup.bundle import read_bundle

    read_bundle(body, "tray.zip")


def zipped_file(name: str) -> Callable[[bytes], None]:
    """A bundle in which one file holds these bytes and the sums are made anew; then worked anew."""

    def check(body: bytes) -> None:
        from woodref.layup import bundlecheck
        from woodref.layup.bundle import NAMES, read_bundle
        from woodref.layup.zipped import zip_of

        files = {held: in_bundle(held) for held in NAMES} | {name: body}
        found = bundlecheck.check(read_bundle(zip_of(files), "tray.zip"), catalogue(), "tray.zip")
        for line in found.sentences():
            assert line == visible(line), line

    return check


def events(body: bytes) -> None:
    """A file of events, JSON or CSV."""
    from woodref.provenance.importing import events_of

    events_of(body, "events.json")


def trade_item(body: bytes) -> None:
    """`trade --goods FILE`, with the verdict and its sentences."""
    from woodref.selection.journey import from_file

    file = Path(os.environ["WOODREF_CACHE"]) / f"item-{os.getpid()}.yaml"
    file.write_bytes(body)
    from_file(file, catalogue(), ON, None)


def day(body: bytes) -> None:
    """`stock day FILE`."""
    from woodref.provenance.dayfile import slips_of

    slips_of(body, "day.yaml")


def parts(body: bytes) -> None:
    """`substitute --batch FILE`."""
    from woodref.selection import partslist

    file = Path(os.environ["WOODREF_CACHE"]) / f"parts-{os.getpid()}.csv"
    file.write_bytes(body)
    partslist.read(file)


def sheet_cell(body: bytes) -> None:
    """A cell of a CSV that the explorer lets through: no formula, and nothing lost of it but the mark."""
    import csv
    import io

    from woodref.explorer.csvguard import Passing

    text = body.decode("utf-8", "replace").replace("\r", " ")
    out = io.StringIO()
    csv.writer(out).writerow(["a", text])
    told = Passing().feed(out.getvalue().encode(), last=True).decode()
    before = csv.field_size_limit(len(told) + 1)
    try:
        ((_, cell),) = csv.reader(io.StringIO(told, newline=""))
    finally:
        assert csv.field_size_limit(before) == len(told) + 1
    assert cell.removeprefix("'") == text.removeprefix("'"), cell
    if cell[:1] in ("=", "+", "-", "@", "\t"):
        float(cell)  # a number may begin with its sign


def refused_or_read(reader: Callable[[bytes], object], body: bytes) -> bool:
    """Whether it was read; a refusal has to be a short sentence without control signs."""
    try:
        reader(body)
    except WoodrefError as fault:
        told = str(fault)
        assert told.strip() and told == visible(told), told
        assert len(told) <= LONGEST_SENTENCE, (len(told), told[:200])
        return False
    return True


TARGETS: dict[str, Callable[[bytes], None]] = {
    "yaml": yaml_text,
    "numbers": numbers,
    "layup": layup,
    "bundle": zipped,
    "bundle figures": zipped_file("figures.json"),
    "bundle layup": zipped_file("layup.yaml"),
    "bundle report": zipped_file("report.json"),
    "events": events,
    "trade item": trade_item,
    "day": day,
    "parts": parts,
    "cell": sheet_cell,
    "wood": spoilt("species/alnus-rubra.yaml"),
    "evidence": spoilt("trade/evidence.yaml"),
    "law": spoilt("trade/listings.yaml"),
}
