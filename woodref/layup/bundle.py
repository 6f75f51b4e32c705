"""A layup in one file with everything another shop needs to come to the same numbers: the layup, the figures
used with their sources, the report in words and as JSON, the bench card, and a MANIFEST of their sums.

The report that goes into it is worked from the gathered figures alone, so that it can be worked again. What a
book holds (prices, lots, suppliers) is no part of it.
"""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import PurePath
from typing import TYPE_CHECKING, Any, TypeVar

from woodref.catalogue.reader import Catalogue
from woodref.errors import BadBundle, BadRequest, echo
from woodref.layup.bundlefigures import Gathered, gather, read_back
from woodref.layup.reader import load_layup
from woodref.layup.zipped import files_of, zip_of
from woodref.version import __version__

if TYPE_CHECKING:
    from pathlib import Path

    from pydantic import BaseModel

    from woodref.layup.report import Report

M = TypeVar("M", bound="BaseModel")
ABOUT, FIGURES, LAYUP = "bundle.json", "figures.json", "layup.yaml"
TOLD, TEXT, CARD = "report.json", "report.txt", "bench-card.html"
NAMES = (CARD, ABOUT, FIGURES, LAYUP, TOLD, TEXT)
#: letters of the name of a layup's file that are kept
_LONGEST = 200


@dataclass(frozen=True)
class About:
    """What made a bundle and how. layup: name of its file; day: for which the law was asked; estimates,
    region, units: as the report was asked for; version, digest: of the catalogue."""

    woodref: str
    version: str
    digest: str
    layup: str
    day: dt.date
    estimates: bool
    region: str | None
    units: str

    def as_dict(self) -> dict[str, Any]:
        """bundle.json (`bundleschema.BundleIn`)."""
        return {
            "bundle": 1, "woodref": self.woodref,
            "catalogue": {"version": self.version, "digest": self.digest}, "layup": self.layup,
            "day": self.day.isoformat(),
            "asked": {"estimates": self.estimates, "region": self.region, "units": self.units},
        }  # fmt: skip


@dataclass(frozen=True)
class Bundle:
    """A bundle read back, its sums checked. body: the layup's bytes; told: report.json; text, card: the
    report in words and the bench card."""

    about: About
    body: bytes
    gathered: Gathered
    told: dict[str, Any]
    text: str
    card: str

    def report(self, catalogue: Catalogue) -> Report:
        """The report worked anew from the bundled figures; the law is that of the catalogue, on the bundle's
        day."""
        return _report(self.about, self.body, self.over(catalogue))

    def over(self, catalogue: Catalogue) -> Catalogue:
        """A catalogue of the bundled figures, with the law of the one given."""
        return self.gathered.over(catalogue, {"version": self.about.version, "digest": self.about.digest})

    def report_of(self, catalogue: Catalogue) -> Report:
        """The report by the figures of the catalogue."""
        return _report(self.about, self.body, catalogue)


def _report(about: About, body: bytes, catalogue: Catalogue) -> Report:
    from woodref.layup.report import report

    layup = load_layup(body, about.layup)
    return report(layup, catalogue, about.day, region=about.region, guess=about.estimates, system=about.units)


def bundle(
    body: bytes, name: str, catalogue: Catalogue, on: dt.date, *, region: str | None = None,
    guess: bool = False, system: str = "metric",
) -> bytes:  # fmt: skip
    """The bundle of a layup file's bytes; the same layup, catalogue, day and options give the same bytes.
    name: of the file, of which the folder is left out. Faults as `report`."""
    base = PurePath(name.replace("\\", "/")).name[-_LONGEST:]
    if not base.isprintable() or not base.strip():
        base = LAYUP
    stamp = catalogue.stamp
    about = About(__version__, stamp["version"], stamp["digest"], base, on, guess, region, system)
    gathered = gather(_report(about, body, catalogue), catalogue, on, region)
    over = gathered.over(catalogue, stamp)
    made = _report(about, body, over)
    files = {
        ABOUT: _json(about.as_dict()), FIGURES: _json(gathered.as_dict()), LAYUP: body,
        TOLD: _json(made.as_dict()), TEXT: text_of(made).encode(), CARD: card_of(made, over).encode(),
    }  # fmt: skip
    return zip_of(files)


def text_of(made: Report) -> str:
    """The report in words, as it stands in a bundle."""
    from woodref.layup.astext import as_text

    return as_text(made)


def card_of(made: Report, catalogue: Catalogue) -> str:
    """The bench card with its drawing, as it stands in a bundle."""
    from woodref.layup.benchcard import bench_card
    from woodref.layup.drawing import class_colours, draw

    return bench_card(made, draw(made, class_colours(catalogue)))


def _json(value: Any) -> bytes:
    return (json.dumps(value, ensure_ascii=False, indent=1, allow_nan=False) + "\n").encode()


def place_for(path: Path, edits: bool = False) -> None:
    """BadRequest when a bundle cannot be written there: nothing that stands is written over; edits: what-ifs
    are given, which no bundle holds."""
    if edits:
        raise BadRequest(
            "a bundle holds the layup as its file says it, and no what-if", where="--bundle",
            next="Put the change into the file first.",
        )  # fmt: skip
    if path.suffix.lower() != ".zip":
        raise BadRequest(f"{path} does not end in .zip", where="--bundle", expected="FILE.zip")
    if path.exists() or path.is_symlink():
        raise BadRequest(
            f"{path} is there already", where="--bundle", next="Name another file, or move it away."
        )


def read_bundle(body: bytes, where: str) -> Bundle:
    """A bundle from its bytes. BadBundle says what is wrong with it, and in which of its files."""
    from woodref.layup.bundleschema import BundleIn, FiguresIn

    files = files_of(body, NAMES, where)
    about = _checked(BundleIn, _value(files, ABOUT, where), where, ABOUT)
    figures = _checked(FiguresIn, _value(files, FIGURES, where), where, FIGURES)
    told = _value(files, TOLD, where)
    if not isinstance(told, dict):
        raise BadBundle("it is no report", where=f"{where}: {TOLD}")
    asked = about.asked
    return Bundle(
        About(
            about.woodref, about.catalogue.version, about.catalogue.digest, about.layup,
            dt.date.fromisoformat(about.day), asked.estimates, asked.region, asked.units,
        ),
        files[LAYUP], read_back(figures), told, _text(files, TEXT, where), _text(files, CARD, where),
    )  # fmt: skip


def _text(files: dict[str, bytes], name: str, where: str) -> str:
    try:
        return files[name].decode()
    except UnicodeDecodeError:
        raise BadBundle("it is no UTF-8 text", where=f"{where}: {name}") from None


def _value(files: dict[str, bytes], name: str, where: str) -> Any:
    """A JSON file: every key once, no number that is none."""
    try:
        return json.loads(_text(files, name, where), object_pairs_hook=_once, parse_constant=_no_number)
    except (ValueError, RecursionError) as fault:
        says = "it lies too many levels deep" if isinstance(fault, RecursionError) else str(fault)
        raise BadBundle(f"it is no JSON ({echo(says)[1:-1]})", where=f"{where}: {name}") from None


def _once(pairs: Sequence[tuple[str, Any]]) -> dict[str, Any]:
    out = dict(pairs)
    if len(out) < len(pairs):
        raise ValueError("a key stands in it twice")
    return out


def _no_number(text: str) -> None:
    raise ValueError(f"{text} is no number")


def _checked(kind: type[M], value: Any, where: str, name: str) -> M:
    """The value by its schema; BadBundle names the first place that is otherwise."""
    from pydantic import ValidationError

    try:
        return kind.model_validate(value)
    except ValidationError as fault:
        first = fault.errors(include_url=False, include_context=False)[0]
        place = ".".join(str(step) for step in first["loc"]) or "the whole"
        more = fault.error_count() - 1
        others = f"; and {more:,} more" if more else ""
        raise BadBundle(
            f"{echo(place)[1:-1]}: {first['msg']}{others}", where=f"{where}: {name}",
            next=f"It is no bundle that woodref {__version__} can read.",
        ) from None  # fmt: skip
