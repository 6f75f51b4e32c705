"""The words of a customer sheet: every sentence that its page shows, made from what the sheet says."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from decimal import Decimal
from fractions import Fraction
from typing import Any

from woodref.provenance.sheetdata import capital
from woodref.selection.words import joined

#: what the page says beside a word of proof
MEANS = {
    "documented": "we hold paper of it",
    "stated by supplier": "the supplier says so; we hold no other paper",
    "not known": "nobody has shown it",
}


def amount_words(layer: str, unit: str, thickness_um: int | None) -> str:
    """'0.2 m2 of 0.6 mm' of an exact amount in the unit of the book, rounded for reading."""
    exact = Fraction(layer)
    size, said = {"mm2": (10**6, "m2"), "nL": (10**9, "l"), "mg": (1000, "g"), "pcs": (1, "pieces")}[unit]
    value = Decimal(exact.numerator) / Decimal(exact.denominator * size)
    text = (
        f"{value.quantize(Decimal('0.001')):f}".rstrip("0").rstrip(".")
        if "." in f"{value:f}"
        else f"{value:f}"
    )
    thick = f" of {thickness_um / 1000:g} mm" if thickness_um and unit == "mm2" else ""
    return f"{text or '0'} {said}{thick}"


def part_row(part: Mapping[str, Any]) -> dict[str, str]:
    """The cells of a row of the parts table."""
    mass = part["wood_g"]
    return {
        "part": f"{part['part']}{': ' + part['role'] if part['role'] else ''}",
        "wood": capital(part["wood"]),
        "words": part["words"] or "",
        "origin": capital(part["origin"]),
        "stand": part["stand"],
        "area": amount_words(part["layer"], part["unit"], part["thickness_um"]),
        "weight": f"{grams(mass)} g" if mass is not None else "weight not known",
        "lot": part["lot"],
        "proof": proof_words(part),
        "papers": joined([paper_words(paper) for paper in part["papers"]]) if part["papers"] else "none",
    }


def grams(text: str) -> str:
    """'1,876.2' of '1876.2'."""
    return f"{Decimal(text):,}"


def proof_words(part: Mapping[str, Any]) -> str:
    """'Wood documented; origin not known; how it was grown not known.'"""
    told = (("wood", "wood_is"), ("origin", "origin_is"), ("how it was grown", "stand_is"))
    words = [f"{name} {part[key]}" for name, key in told]
    return capital("; ".join(words)) + "."


def paper_words(paper: Mapping[str, Any]) -> str:
    """'invoice of 2025-09-02, no. 17'."""
    kind = str(paper["kind"]).replace("-", " ").replace("eudr", "EUDR")
    on = f" of {paper['issued_on']}" if paper["issued_on"] else ""
    number = f", no. {paper['number']}" if paper["number"] else ""
    return f"{kind}{on}{number}"


def used_line(used: Mapping[str, Any]) -> str:
    """'Glue G-1 (urea-formaldehyde): 460 g used.'"""
    form = {"adhesive": "Glue", "finish": "Finish"}.get(used["form"], capital(str(used["form"])))
    what = used["words"] or used["material"]
    papers = joined([paper_words(p) for p in used["papers"]]) if used["papers"] else ""
    amount = amount_words(used["amount"], used["unit"], None)
    said = f"{form} {used['lot']}{f' ({what})' if what else ''}: {amount} used"
    return f"{said}. Paper: {papers}." if papers else f"{said}."


def kept_lines(kept: Mapping[str, Any]) -> list[str]:
    """Finish, care and repair, where they were told."""
    out = []
    if kept["finish"]:
        out.append(f"Finish: {_ended(kept['finish'])}")
    if kept["care"]:
        out.append(f"Care: {_ended(kept['care'])}")
    if kept["repairable"] is not None:
        yes = "It can be repaired" if kept["repairable"] else "It is not made to be repaired"
        out.append(f"{yes}: {_ended(kept['repair_words'])}" if kept["repair_words"] else f"{yes}.")
    return out or ["Care and repair: the maker has said nothing of them here."]


def emission_line(kept: Mapping[str, Any]) -> str:
    return str(kept["emission"] or "Emissions: no test report of this item or its glue is on the record.")


def short_lines(told: Mapping[str, Any]) -> list[str]:
    """The whole in a few sentences: how much wood, and for what share of it paper is held."""
    parts = told["parts"]
    lots = {part["lot"] for part in parts}
    woods = list(dict.fromkeys(part["wood"] for part in parts))
    total = told["wood_g"]
    weigh = f", {grams(total)} g of wood" if total is not None else ", weight not known"
    out = [f"{_count(len(woods), 'wood')} from {_count(len(lots), 'lot')}{weigh}: {'; '.join(woods)}."]
    for name, key in (
        ("what wood it is", "wood_is"),
        ("where it grew", "origin_is"),
        ("how it was grown", "stand_is"),
    ):
        out.append(_share_line(parts, name, key, total))
    return out


def _share_line(parts: Sequence[Mapping[str, Any]], name: str, key: str, total: str | None) -> str:
    """'Where it grew: documented for 1,808.2 g of 1,876.2 g, not known for 68 g.'"""
    said: list[str] = []
    for word in MEANS:
        rows = [part for part in parts if part[key] == word]
        if not rows:
            continue
        if len(rows) == len(parts):
            said.append(f"{word} for all of it")
        elif total is None or any(part["wood_g"] is None for part in rows):
            said.append(f"{word} for {_count(len({part['lot'] for part in rows}), 'lot')}")
        else:
            part_of = sum((Decimal(part["wood_g"]) for part in rows), Decimal(0))
            whole = "" if said else f" of {grams(total)} g"
            said.append(f"{word} for {part_of:,} g{whole}")
    return f"{capital(name)}: {', '.join(said)}."


def _count(number: int, word: str) -> str:
    return f"{number} {word}{'' if number == 1 else 's'}"


def destination_lines(told: Sequence[Mapping[str, Any]]) -> list[str]:
    """What is wanted for each destination, in the words of its rules."""
    return [str(place["sentence"]) for place in told]


def rules_line(told: Mapping[str, Any]) -> str:
    """Which rules were asked: 'Judged on 2026-11-25 by the rules home, eu-2026 (0.1.0+9b209b5992f59cc3).'"""
    places = told["destinations"]
    rules = ", ".join(place["rules"] for place in places)
    days = " and ".join(sorted({place["on"] for place in places}))
    versions = " and ".join(sorted({place["version"] for place in places}))
    return f"Judged on {days} by the rules {rules} ({versions})." if places else ""


def lines_of(told: Mapping[str, Any]) -> list[str]:
    """Everything a sheet says, a sentence a line, so that two versions can be compared."""
    out = [f"Label: {told['label']}."] if told["label"] else []
    out += [f"Maker: {told['maker']}."] if told["maker"] else []
    out += [f"Serial: {told['serial']}."] if told["serial"] else []
    for part in told["parts"]:
        row = part_row(part)
        words = f' ("{row["words"]}")' if row["words"] else ""
        out.append(
            f"{row['part']}: {row['wood']}{words}, from {row['origin']}, grown: {row['stand']}, "
            f"{row['area']}, {row['weight']}, lot {row['lot']}. {row['proof']} Papers: {row['papers']}."
        )
    out += [used_line(used) for used in told["used"]]
    out += [emission_line(told["kept"]), *kept_lines(told["kept"])]
    out += [f"Not proven: {line}" for line in told["not_proven"]]
    out += list(told["custody"])
    for place in told["destinations"]:
        wanting = "; ".join(place["wanting"]) or "nothing"
        out.append(f"{place['destination']}: {place['status']}, wanting: {wanting}.")
    return out


def _ended(words: object) -> str:
    text = str(words)
    return text if text.endswith((".", "!", "?")) else f"{text}."
