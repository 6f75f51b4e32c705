"""The catalogue against byte copies of the rows that were read outside the handbook's tables.

Source of every number: the document in the row's own column `source`: fact sheets of the USDA Forest
Products Laboratory (Tropical Timbers of the World, Agriculture Handbook 607, 1984; GTR-83, GTR-102),
DIN 68364:2003 and DIN 68100 at second hand, Niemz 1993 and Rijsdijk and Laming 1994 at second hand,
Hoadley 1998, two Smithsonian sheets, papers and abstracts of 1914 to 2025, and ANC-18 (1951). Expected
values are the row's own, or the print it repeats turned into the catalogue's unit (own computation in
Decimal), to four significant digits. What the words of a row mean here stands in data/other_*.csv: it
stands in the catalogue or, by file, line and words, in other_rows_left_out.csv.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

import pytest

from woodref.catalogue.dataset import DataSet
from woodref.catalogue.properties import PROPERTIES
from woodref.catalogue.schema import Condition, MaterialIn

Rows = Callable[[str], list[dict[str, str]]]
Row = Mapping[str, str]

#: file -> its rows that stand in the catalogue, the figures and coordinates that hold them, rows left out
FILES = {
    "other_sources.csv": (67, 75, 87),
    "other_sources2.csv": (489, 534, 31),
    "other_sources3.csv": (394, 430, 10),
    "anc18_1951_moisture_correction_pct_per_1pct_mc.csv": (0, 0, 9),
}

# NIST SP 811, appendix B.8: exact by definition
KGF = Decimal("9.80665")  # N
LBF = Decimal("0.45359237") * KGF  # N
PSI = LBF / Decimal("25.4") ** 2  # MPa
#: unit of the print that a row repeats -> factor to MPa, N or kg/m3
PRINTED = {
    "psi": PSI, "thousand psi": PSI * 1000, "lbf/in2": PSI, "kgf/cm2": KGF / 100, "kgf/mm2": KGF,
    "N/mm2": Decimal(1), "lbf": LBF, "kgf": KGF, "g/cm3": Decimal(1000),
    "lb/ft3": Decimal("0.45359237") / Decimal("0.3048") ** 3,
}  # fmt: skip
NUMBER = r"(\d{1,3}(?:,\d{3})+|\d+(?:\.\d+)?)"
UNIT = "|".join(map(re.escape, PRINTED))
#: where "7.500 N/mm2" stands, the point marks thousands
PRINT = re.compile(rf"(?:printed|from) (?!\d\.\d{{3}} N){NUMBER}(?:-{NUMBER})? ({UNIT})(?![\w/])")
COLOUR = ("swatch L*", "swatch a*", "swatch b*")
ENDS = {"to oven-dry": "oven-dry", "to 12% mc": "12 %", "to air-dry": "air-dry"}
ORDINAL = {"first": "1", "second": "2", "third": "3"}
SECOND_HAND = ("read (second hand)", "read (mirror copy of the sheet)")
#: rows of a sheet of two species that name one of them
ONLY = {"green to oven-dry; panga panga only": "millettia-stuhlmannii"}


@dataclass(frozen=True)
class Held:
    """One figure, as the catalogue holds it or as a row asks for it; values: one, or low and high."""

    material: str
    property: str
    values: tuple[Decimal, ...]
    unit: str
    condition: frozenset[tuple[str, str]]
    source: str
    locator: str
    evidence: str
    of_group: bool


@dataclass(frozen=True)
class Wanted:
    """A row, and the forms in which the catalogue may hold it: the row's number, or its print."""

    file: str
    line: int
    words: str
    forms: tuple[Held, ...]


def rounded(*values: object) -> tuple[Decimal, ...]:
    """Four significant digits, as the catalogue writes a converted figure."""
    return tuple(Decimal(f"{Decimal(str(value)):.4g}") for value in values if value is not None)


def keys(text: str) -> dict[str, str]:
    """`a=b; c=d` -> its pairs."""
    return dict(pair.split("=", 1) for pair in text.split("; ") if pair)


def held_in(material: str, model: MaterialIn) -> Iterator[Held]:
    """All figures of a material, and the coordinates of its swatches. A stand not stated is none."""
    for name, figures in model.figures.items():
        for f in figures:
            stated = f.condition.model_dump(by_alias=True, exclude_none=True)
            pairs = [(k, f"{v:g}" if isinstance(v, float) else v) for k, v in stated.items()]
            yield Held(
                material, name, rounded(f.value, f.low, f.high), f.unit,
                frozenset(pair for pair in pairs if pair != ("stand", "not-stated")),
                f.source or "", f.locator or "", f.evidence or "", f.for_taxon is not None,
            )  # fmt: skip
    for s in model.look.swatches:
        for name, number in zip(COLOUR, s.lab, strict=True):
            yield Held(
                material, name, rounded(number), "", frozenset({("state", s.state)}),
                s.source or "", s.locator or "", s.evidence or "", False,
            )  # fmt: skip


class Reading:
    """The copied rows, and the tables that say what their words mean."""

    def __init__(self, rows: Rows, dataset: DataSet) -> None:
        self.rows = {(f, i): row for f in FILES for i, row in enumerate(rows(f), start=2)}
        self.left_out = {(r["file"], int(r["line"])): r for r in rows("other_rows_left_out.csv")}
        self.graded = {(r["file"], int(r["line"])): r["evidence"] for r in rows("other_graded.csv")}
        self.properties = {(r["printed"], r["unit"]): r for r in rows("other_properties.csv")}
        self.cited, self.basis = rows("other_cited.csv"), rows("other_basis.csv")
        models = [loaded.model for loaded in dataset.materials.values()]
        self.carriers = [(m.botanical.name, m.id) for m in models if m.botanical and m.kind == "species"]
        self.carriers += [(r["printed"], r["material"]) for r in rows("other_names.csv") if not r["why_not"]]

    def citation(self, row: Row, species: str) -> Row:
        """Source, locator and what the source as a whole says of the condition."""
        text = re.sub(r".*, sheet (?=\w)", "sheet ", row["source"])
        narrow = {species, row["property"], row["basis"]} - {""}
        fits = [c for c in self.cited if text.startswith(c["source_words"])]
        fits = [c for c in fits if c["of"] in narrow] or [c for c in fits if not c["of"]]
        if not fits and text.startswith("sheet "):
            return {"source": "fpl-tech-sheets", "locator": text, "condition": ""}
        assert len(fits) == 1, f"other_cited.csv has {len(fits)} entries for {text} ({species})"
        return fits[0]

    def condition(self, basis: str, prop: Row, cited: Row, number: str) -> dict[str, str]:
        """How the figure was taken: from the basis, the property's name and the source as a whole."""
        name, found = prop["property"], dict[str, str]()
        if name in COLOUR:
            return {"state": "planed"}
        if name.startswith("shrinkage"):
            found = dict([("to", end) for said, end in ENDS.items() if said in basis.lower()])
        elif not name.startswith(("movement", "basic_density")):
            mc = re.match(r"green|air-dry|dry", basis) or re.search(r"[\d.]+(?=% MC)", basis)
            found = {"mc": mc[0] if mc else "not-stated"}
        for said in self.basis:
            found |= keys(said["condition"]) if said["words"] in basis else {}
        found |= {"set": number} if number else {}
        return found | keys(prop["condition"]) | keys(cited["condition"])

    def numbers(self, row: Row, prop: Row) -> list[tuple[Decimal, ...]]:
        """The row's own number or range in the catalogue's unit, and the print that it repeats."""
        ends = [Decimal(n) for n in re.findall(r"\d+(?:\.\d+)?", row["value"].split(" +/- ")[0])]
        if prop["factor"] == "by EL":  # a modulus over the one along the grain, of the same test
            same = [r for r in self.rows.values() if r.get("property") == "EL" and r["basis"] == row["basis"]]
            return [rounded(*(n / Decimal(same[0]["value"]) for n in ends))]
        own = rounded(*(n * Decimal(prop["factor"]) for n in ends))
        printed = PRINT.search(row["basis"] + "; " + row.get("note", ""))
        if not printed:
            return [own]
        by = PRINTED[printed[3]] / (1000 if prop["property"] == "moe" else 1)
        exact = [Decimal(n.replace(",", "")) * by for n in printed.group(1, 2) if n]
        for end, other in zip(ends, exact, strict=True):
            last = Decimal(1).scaleb(int(end.as_tuple().exponent))
            assert abs(end - other) < last, f"{row}: not the {printed[0]} of its own words"
        return [own, rounded(*exact)]

    def wanted(self) -> Iterator[Wanted]:
        """Every row that is not left out, once for each material that must carry it."""
        latest: dict[str, str] = {}
        for (file, line), row in self.rows.items():
            if (file, line) in self.left_out:
                continue
            species, basis, note = row.get("species") or row["binomial"], row["basis"], row.get("note", "")
            named = [material for name, material in self.carriers if name == species]
            assert named, f"{file}, line {line}: {species} is neither left out nor a material's"
            narrow = (f"{row['property']}, {basis.split(';')[0]}", row["unit"])
            prop = self.properties.get(narrow) or self.properties[row["property"], row["unit"]]
            name, cited = prop["property"], self.citation(row, species)
            said = re.search(r"[,;] (first|second|third) (?:set|pair)\b", basis)
            # crushing rows do not name their set, they follow its bending rows
            latest[species] = said[1] if said else latest.get(species, "first")
            state = self.condition(basis, prop, cited, set_of(basis, ORDINAL[latest[species]]))
            both = basis == "one value printed for green and dry"
            grade = "recalled" if row["seen"] in SECOND_HAND else "quoted"
            group = " sp" in species or " / " in species or bool(re.search("(genus|group) sheet", note, re.I))
            for material in [ONLY[basis]] if basis in ONLY else named:
                for one in [state | {"mc": mc} for mc in ("green", "dry")] if both else [state]:
                    yield Wanted(file, line, " | ".join(list(row.values())[:3]), tuple(
                        Held(material, name, values, PROPERTIES[name].unit if name in PROPERTIES else "",
                             frozenset(one.items()), cited["source"], cited["locator"],
                             self.graded.get((file, line), grade), group and basis not in ONLY)
                        for values in self.numbers(row, prop)
                    ))  # fmt: skip


def set_of(basis: str, number: str) -> str:
    """The strength set of a sheet's row; empty where the row is of none."""
    piece = re.search(r"(2-in\.|2-cm|1-in\.) standard", basis)
    line = re.search(r"strength line (\d+) of", basis)
    return f"{piece[1]}, line {line[1]}" if piece and line else f"{piece[1]}, set {number}" if piece else ""


def missing(wanted: Sequence[Wanted], held: frozenset[Held]) -> list[str]:
    """The rows that no figure of the catalogue holds."""
    return [f"{w.file}, line {w.line}: {w.words}: no {w.forms[-1]}" for w in wanted if not held & {*w.forms}]


#: sources and locators of figures from memory, which no row gives
FROM_MEMORY = {("fpl-tech-sheets", ""), ("din-68364", "")}


def unfounded(wanted: Sequence[Wanted], held: frozenset[Held], rows: Rows) -> list[Held]:
    """The figures of a source of these rows that no row gives. A fact sheet or DIN 68364 without locator is
    memory."""
    forms = {form for w in wanted for form in w.forms}
    beside = {(r["material"], r["property"], r["value"]) for r in rows("other_from_words.csv")}
    return [
        h for h in held - forms
        if h.source in {form.source for form in forms} and (h.source, h.locator) not in FROM_MEMORY
        and (h.material, h.property, *map(str, h.values)) not in beside
    ]  # fmt: skip


@pytest.fixture(scope="module")
def reading(rows: Rows, dataset: DataSet) -> Reading:
    return Reading(rows, dataset)


@pytest.fixture(scope="module")
def wanted(reading: Reading) -> list[Wanted]:
    return list(reading.wanted())


@pytest.fixture(scope="module")
def held(dataset: DataSet) -> frozenset[Held]:
    return frozenset(h for key, loaded in dataset.materials.items() for h in held_in(key, loaded.model))


def test_every_row_stands_in_the_catalogue(
    reading: Reading, wanted: list[Wanted], held: frozenset[Held]
) -> None:
    rows_found = Counter(file for file, _ in {(w.file, w.line) for w in wanted})
    figures, left = Counter(w.file for w in wanted), Counter(file for file, _ in reading.left_out)
    assert {file: (rows_found[file], figures[file], left[file]) for file in FILES} == FILES
    assert len({w.forms[-1] for w in wanted}) == len(wanted)  # no figure stands for two rows
    assert not missing(wanted, held), "\n".join(missing(wanted, held))


def test_every_figure_of_these_sources_has_a_row(
    wanted: list[Wanted], held: frozenset[Held], rows: Rows
) -> None:
    assert not unfounded(wanted, held, rows), "\n".join(map(str, unfounded(wanted, held, rows)))


@pytest.mark.parametrize(
    "change",
    [
        {"value": 6.19},
        {"low": 6.0, "high": 6.4},
        {"evidence": "recalled"},
        {"source": "fpl-tech-sheets"},
        {"locator": "Table 2"},
        {"unit": "MPa"},
        {"for_taxon": "Toona spp."},
        {"condition": Condition(mc=12)},
    ],
    ids=lambda change: next(iter(change)),
)
def test_a_changed_figure_is_caught(
    dataset: DataSet, wanted: list[Wanted], held: frozenset[Held], rows: Rows, change: dict[str, Any]
) -> None:
    """Toona sinensis, 6,179.82 MPa (Plant Diversity 35(5), abstract), spoilt in one place at a time."""
    model = dataset.materials["toona-sinensis"].model
    spoilt = {**model.figures, "moe": [model.figures["moe"][0].model_copy(update=change)]}
    after = {h for h in held if h.material != model.id}
    after |= set(held_in(model.id, model.model_copy(update={"figures": spoilt})))
    assert missing(wanted, frozenset(after)) and unfounded(wanted, frozenset(after), rows)


def test_a_changed_swatch_is_caught(dataset: DataSet, wanted: list[Wanted], held: frozenset[Held]) -> None:
    """Abies alba, L* 80.46, a* 6.84, b* 18.90 (Wood Research, abstract)."""
    model = dataset.materials["abies-alba"].model
    spoilt = model.look.swatches[0].model_copy(update={"lab": [80.46, 18.9, 6.84]})
    look = model.look.model_copy(update={"swatches": [spoilt]})
    after = {h for h in held if h.material != model.id}
    after |= set(held_in(model.id, model.model_copy(update={"look": look})))
    assert len(missing(wanted, frozenset(after))) == 2


def test_a_row_without_its_excuse_is_asked_for(rows: Rows, dataset: DataSet, held: frozenset[Held]) -> None:
    reading = Reading(rows, dataset)
    del reading.left_out["other_sources.csv", 70]  # Sitka spruce, nu_LT 0.045
    assert len(missing(list(reading.wanted()), held)) == 1
    del reading.left_out["other_sources2.csv", 57]  # Entandrophragma angolense, not of ours
    with pytest.raises(AssertionError, match="line 57: Entandrophragma angolense"):
        list(reading.wanted())
