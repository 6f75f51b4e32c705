"""Rows for a declaration of plant material (the shape of US 7 CFR 357.3): one row a species and set of
countries of harvest, and of an engineered sheet one row a species in it.

The rows are what the book says; they add up exactly to the wood of the item. What is printed is rounded by
largest remainder, so that the printed rows add up to the printed total.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any

from woodref.catalogue.export import as_csv as csv_text
from woodref.provenance.lots import NO_WOOD
from woodref.provenance.naming import Names, Written, plain_name
from woodref.provenance.standing import Standing
from woodref.provenance.store import Store
from woodref.provenance.times import Moment
from woodref.provenance.trace import Root

COLUMNS = (
    "component", "genus", "species", "country_of_harvest", "net_quantity", "unit", "percent_recycled",
    "value",
)  # fmt: skip
#: unit -> how many digits behind the point are printed: whole mg, mm2, and mm3
DIGITS = {"kg": 6, "m2": 6, "m3": 9}
CAUTION = (
    "These rows are drawn from the stock book and are no declaration yet: who declares looks them over, and "
    "confirms with the authority of the country what it asks for."
)


@dataclass(frozen=True)
class Row:
    """One line. countries: codes in order, empty where not known; quantity: exact, in the unit; woods: as the
    book has them; lots: received lots that it is of."""

    component: str
    genus: str
    species: str
    countries: tuple[str, ...]
    quantity: Fraction
    unit: str
    printed: str
    lots: tuple[str, ...]
    woods: tuple[str, ...]
    value: str | None = None

    def cells(self) -> dict[str, Any]:
        """By the columns, as printed; what is not known is empty."""
        return {
            "component": self.component, "genus": self.genus, "species": self.species,
            "country_of_harvest": "; ".join(self.countries), "net_quantity": self.printed, "unit": self.unit,
            "percent_recycled": None, "value": self.value,
        }  # fmt: skip

    @property
    def name(self) -> str:
        return " ".join(filter(None, (self.genus, self.species))) or "wood that is not identified"


@dataclass(frozen=True)
class Declaration:
    """totals: unit -> exact sum and printed sum; left_out: what is in the item and is no wood, by name."""

    item: str
    rows: Sequence[Row]
    totals: Mapping[str, tuple[Fraction, str]]
    unsure: Sequence[str] = ()
    value: str | None = None

    @property
    def sentences(self) -> list[str]:
        """What the rows do not say, in order; the caution last."""
        if not self.rows:
            return [f"No wood is on record in {self.item}: there is nothing to declare.", CAUTION]
        sums = " and ".join(f"{printed} {unit}" for unit, (_, printed) in self.totals.items())
        rows = "1 row" if len(self.rows) == 1 else f"{len(self.rows)} rows"
        out = [f"{rows}, together {sums} of wood; glue, dye and finish are not in it."]
        for row in self.rows:
            if not row.countries:
                out.append(
                    f"The country of harvest is not known of {row.printed} {row.unit} of {row.name} "
                    f"({', '.join(row.lots)})."
                )
        out += self.unsure
        bare = sorted({lot for row in self.rows if row.unit != "kg" for lot in row.lots})
        if bare:
            out.append(
                f"The weight is not known of {', '.join(bare)}: without a density its row is in area or "
                "volume."
            )
        if self.value is not None:
            out.append("The value is that of the whole item and stands in the first row alone.")
        return [*out, CAUTION]

    def as_csv(self) -> str:
        """With a head line. A cell that a spreadsheet would take for a formula (it begins with = + - @, a tab
        or a carriage return) begins with an apostrophe instead."""
        return csv_text([row.cells() for row in self.rows], list(COLUMNS))

    def as_dict(self) -> dict[str, Any]:
        """JSON: quantities as exact fractions in text beside what is printed."""
        return {
            "item": self.item, "count": len(self.rows),
            "rows": [
                row.cells() | {
                    "country_of_harvest": list(row.countries), "exact": str(row.quantity),
                    "lots": list(row.lots), "woods": list(row.woods),
                }
                for row in self.rows
            ],
            "totals": {unit: printed for unit, (_, printed) in self.totals.items()},
            "sentences": self.sentences, "notices": [],
        }  # fmt: skip


@dataclass
class _Gathered:
    """What goes into one row."""

    quantity: Fraction = Fraction(0)
    lots: list[str] = field(default_factory=list)
    parts: list[str] = field(default_factory=list)


def declaration_rows(
    store: Store, item: str, names: Names = plain_name, at: Moment | None = None, value: str | None = None
) -> Declaration:
    """The rows of an item; names: writes a botanical name as genus and species (`naming.names_of` with the
    catalogue); at: as the book stood then; value: of the item with its currency, as it is to be printed.

    UnknownLot when there is no item of that id.
    """
    standing = Standing(store, at)
    components = standing.parts(item)
    groups: dict[tuple[tuple[str, ...], tuple[str, ...], str], _Gathered] = {}
    unsure = []
    for root in standing.roots(item):
        if root.used or root.held.lot.form in NO_WOOD:
            continue
        for woods, countries, quantity, unit in _woods(root):
            group = groups.setdefault((woods, tuple(sorted(set(countries))), unit), _Gathered())
            group.quantity += quantity
            group.lots.append(root.held.lot.id)
            group.parts += components.get(root.held.lot.id, ())
            if len(woods) != 1:
                unsure.append(_doubt(root, woods))
    printed = _printed({key: group.quantity for key, group in groups.items()})
    rows: list[Row] = []
    for key, group in groups.items():
        woods, countries, unit = key
        genus, species = _name([names(wood) for wood in woods])
        rows.append(
            Row(
                ", ".join(dict.fromkeys(group.parts)) or item, genus, species, countries, group.quantity,
                unit, printed[key], tuple(dict.fromkeys(group.lots)), woods, None if rows else value,
            )
        )  # fmt: skip
    return Declaration(item, rows, _totals(rows), tuple(dict.fromkeys(unsure)), value)


def _woods(root: Root) -> Iterator[tuple[tuple[str, ...], tuple[str, ...], Fraction, str]]:
    """(what it may be, countries, amount, unit) of each wood of a received lot; together all its wood."""
    lot = root.held.lot
    amount, unit = _net(root)
    if not lot.composition:
        yield lot.may_be, lot.countries, amount * lot.wood_share / 1000, unit
        return
    for species, permille, countries in lot.composition:
        yield (species,), countries or lot.countries, amount * permille / 1000, unit
    rest = lot.wood_share - sum(permille for _, permille, _ in lot.composition)
    if rest > 0:
        yield (), lot.countries, amount * rest / 1000, unit


def _net(root: Root) -> tuple[Fraction, str]:
    """What is contained of a lot, in kg; in m3 or m2 where no density or thickness was told."""
    if root.ng is not None:
        return root.ng / 10**12, "kg"
    if root.held.lot.unit in ("mm2", "nL") and root.nl is not None:
        return root.nl / 10**12, "m3"
    return (root.net / 10**6, "m2") if root.held.lot.unit == "mm2" else (root.net, root.held.lot.unit)


def _doubt(root: Root, woods: Sequence[str]) -> str:
    lot = root.held.lot
    if not woods:
        return f'What wood {lot.id} ("{lot.trade}") is nobody knows: its row has no name yet.'
    return f"{lot.id} is {' or '.join(woods)}; nobody knows which, so its row names all."


def _name(written: Sequence[Written]) -> tuple[str, str]:
    """(genus, species) of one row; several that it may be, in the same order in both."""
    genera = list(dict.fromkeys(w.genus for w in written))
    return " or ".join(genera if len(genera) == 1 else [w.genus for w in written]), " or ".join(
        w.printed_species for w in written
    )


def _printed(amounts: Mapping[Any, Fraction]) -> dict[Any, str]:
    """Each amount as printed, by largest remainder within its unit: the last member of its key."""
    out: dict[Any, str] = {}
    for unit in dict.fromkeys(key[-1] for key in amounts):
        digits = DIGITS.get(unit, 0)
        steps = {key: value * 10**digits for key, value in amounts.items() if key[-1] == unit}
        whole = {key: value.numerator // value.denominator for key, value in steps.items()}
        short = round(sum(steps.values(), Fraction(0))) - sum(whole.values())
        for key in sorted(steps, key=lambda k: (whole[k] - steps[k], list(steps).index(k)))[:short]:
            whole[key] += 1
        out |= {key: _decimal(value, digits) for key, value in whole.items()}
    return out


def _decimal(value: int, digits: int) -> str:
    """950400 with 6 digits -> '0.9504'."""
    if not digits:
        return str(value)
    text = f"{value:0{digits + 1}d}"
    return f"{text[:-digits]}.{text[-digits:]}".rstrip("0").rstrip(".")


def _totals(rows: Sequence[Row]) -> dict[str, tuple[Fraction, str]]:
    out = {}
    for unit in dict.fromkeys(row.unit for row in rows):
        exact = sum((row.quantity for row in rows if row.unit == unit), Fraction(0))
        digits = DIGITS.get(unit, 0)
        out[unit] = exact, _decimal(round(exact * 10**digits), digits)
    return out
