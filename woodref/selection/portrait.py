"""One wood answered in the order a bench asks: is it this wood, may I, can I get it, how will it
look, will it bend and glue, will it stay, how heavy and stiff, mind yourself."""

from __future__ import annotations

import datetime as dt
import json
from dataclasses import dataclass
from typing import Any

from woodref.catalogue.fold import fold
from woodref.catalogue.material import Figure, Material, citation, condition_words
from woodref.catalogue.names import Matched, kind_words, shared_meanings
from woodref.catalogue.properties import PROPERTIES
from woodref.catalogue.reader import Catalogue, Notice
from woodref.selection import sheets, status, words
from woodref.selection.estimates import estimate_notices, estimated
from woodref.selection.movement import DAMP, DRY, leaf_words, movement_per_100


@dataclass(frozen=True)
class Line:
    """One thing said; figure when it is a measured or worked-out number."""

    text: str
    figure: Figure | None = None


@dataclass(frozen=True)
class Section:
    heading: str
    lines: tuple[Line, ...]


@dataclass(frozen=True)
class Portrait:
    """Everything `show` prints. sections are sentences; the rest is for JSON."""

    material: Material
    matched: Matched
    sections: tuple[Section, ...]
    origins: status.Origins
    cautions: tuple[str, ...]
    notices: tuple[Notice, ...]
    stamp: dict[str, str]

    def as_dict(self) -> dict[str, Any]:
        """The JSON contract of `show`."""
        m = self.material
        return {
            "id": m.id,
            "kind": m.kind,
            "name": m.name,
            "matched": {"name": self.matched.name, "kind": self.matched.kind},
            "botanical_name": m.botanical_name,
            "family": m.family,
            "synonyms": list(m.synonyms),
            "woods": list(m.woods),
            "also_called": [
                {"text": n.text, "lang": n.lang, "regions": list(n.regions), "note": n.note}
                for n in m.names[1:]
            ],
            "figures": {name: figures_dict(m, name) for name in PROPERTIES if name in m.figures},
            "look": m.look,
            "grows": m.grows,
            "made_from": m.made_from,
            "veneer": m.veneer,
            "working": m.working,
            "red_list": m.red_list,
            "listings": [row.as_dict() for row in self.origins.rows],
            "origins_free": list(self.origins.free),
            "origins_listed": list(self.origins.listed),
            "sections": [
                {"heading": s.heading, "lines": [line.text for line in s.lines]} for s in self.sections
            ],
            "cautions": list(self.cautions),
            "notices": [n.as_dict() for n in self.notices],
            "catalogue": self.stamp,
        }


def figure_dict(figure: Figure) -> dict[str, Any]:
    """One figure as the JSON contract shows it."""
    return {
        "value": figure.value,
        "unit": figure.unit,
        "low": figure.low,
        "high": figure.high,
        "condition": figure.condition,
        "source": figure.source,
        "locator": figure.locator,
        "evidence": figure.evidence,
        "printed": figure.printed,
        "for_taxon": figure.for_taxon,
        "from": list(figure.from_),
        "added_error": figure.added_error,
        "n": figure.n,
        "note": figure.note,
    }


def figures_dict(material: Material, name: str) -> dict[str, Any]:
    """The preferred figure with the others beside it; nulls when none is preferred."""
    held = material.figures[name]
    empty = dict.fromkeys(
        ("value", "low", "high", "condition", "source", "locator", "evidence", "printed",
         "for_taxon", "from", "added_error", "n", "note")
    )  # fmt: skip
    head = figure_dict(held.preferred) if held.preferred else empty
    return head | {
        "unit": PROPERTIES[name].unit,
        "others": [figure_dict(other) for other in held.others],
    }


def portrait(
    matched: Matched,
    catalogue: Catalogue,
    on: dt.date,
    system: str = "metric",
    full: bool = False,
    estimates: bool = False,
) -> Portrait:
    """Answer the bench's questions about one material on a day.

    system: metric or us. full: every figure held, not only the preferred ones.
    estimates: what is not held is worked out from weight.
    """
    material = catalogue.material(matched.id)
    if estimates:
        material = estimated(material)
    found = status.origins(material, on, catalogue)
    sections = [
        Section("Is it this wood?", tuple(_identity(material, matched, catalogue, on))),
        Section("May I?", tuple(_may_i(material, found, catalogue))),
        Section("Can I get it?", tuple(_get_it(material, catalogue, system))),
        Section("How will it look?", tuple(_look(material, catalogue))),
        Section("Will it bend and glue?", tuple(_bend_and_glue(material))),
        Section("Will it stay?", tuple(_stay(material, system))),
        Section("How heavy, how stiff?", tuple(_heavy(material, system))),
    ]
    cautions = _cautions(material)
    sections.append(Section("What can hurt you", tuple(Line(text) for text in cautions)))
    if full:
        heading = "Every figure held or worked out" if estimates else "Every figure held"
        sections.append(Section(heading, tuple(_every(material, system))))
    guesses = estimate_notices([material]) if estimates else ()
    notices = (*catalogue.notices, *matched.notices, *status.law_notices(on, catalogue), *guesses)
    closing = (*cautions, status.law_caution(catalogue))
    return Portrait(material, matched, tuple(sections), found, closing, notices, catalogue.stamp)


def _identity(material: Material, matched: Matched, catalogue: Catalogue, on: dt.date) -> list[Line]:
    lines = []
    if material.botanical_name:
        head = f"{material.name}: {material.botanical_name}, {material.family}."
    else:
        made = material.made_from or {}
        woods = " and ".join(material.woods)
        head = f"{material.name}: {made.get('words', material.kind)}. Wood in it: {woods}."
    lines.append(Line(head))
    if matched.kind != "id" and fold(matched.name) != fold(material.name):
        lines.append(Line(f'It answered to "{matched.name}" ({kind_words(matched.kind)}).'))
    if material.synonyms:
        lines.append(Line(f"Older botanical names on papers: {', '.join(material.synonyms)}."))
    also = list(dict.fromkeys(n.text for n in material.names[1:] if n.lang == "en"))
    abroad = list(dict.fromkeys(f"{n.text} ({n.lang})" for n in material.names if n.lang != "en"))
    if also:
        lines.append(Line(f"Also called {', '.join(also)}."))
    if abroad:
        lines.append(Line(f"Abroad: {', '.join(abroad)}."))
    lines += [Line(text) for text in _twins(material, catalogue, on)]
    return lines


def _twins(material: Material, catalogue: Catalogue, on: dt.date) -> list[str]:
    """Woods that share a name with this one: what the invoice may have meant."""
    out = []
    seen: set[str] = set()
    for name in material.names:
        key = fold(name.text)
        if key in seen:
            continue
        seen.add(key)
        others = [m for m in shared_meanings(key, catalogue, on) if m.material != material.id]
        if others:
            told = "; ".join(f"{m.taxon} ({m.status})" for m in others)
            out.append(f'"{name.text}" is also a name of {told}.')
    return out


def _may_i(material: Material, found: status.Origins, catalogue: Catalogue) -> list[Line]:
    lines = [Line(status.origin_sentence(material, found, catalogue))]
    lines += [Line(text) for text in status.listing_sentences(material, found)]
    red = material.red_list
    if red["category"] not in ("unknown", "NE"):
        year = f", {red['year']}" if red.get("year") else ""
        grade = words.SAID_WORDS[red["evidence"]]
        lines.append(Line(f"IUCN Red List: {red['category']}{year} ({grade}): information, not a bar."))
    lines.append(Line(status.law_caution(catalogue)))
    return lines


def _get_it(material: Material, catalogue: Catalogue, system: str) -> list[Line]:
    veneer = material.veneer
    text = words.SOLD_WORDS[veneer["sold"]]
    if veneer["cuts"]:
        text += f": {words.cut_words(veneer['cuts'])}"
    if veneer["thickness_mm"]:
        text += f"; {_sizes(veneer['thickness_mm'], system)} thick"
    width = veneer["leaf_width_mm"]
    ends = [v for v in (width.get("low"), width.get("high")) if v is not None]
    if ends:
        text += f"; leaves {_sizes(ends, system, ' to ')} wide"
    lines = [Line(f"{text[0].upper()}{text[1:]}.")]
    lines += [Line(text) for text in sheets.treatment_sentences(material)]
    if material.veneer.get("note"):
        lines.append(Line(_sentence(material.veneer["note"])))
    where = status.country_names(material.countries, catalogue, most=99)
    lines.append(Line(f"Countries of harvest: {where}."))
    lines.append(Line(status.plantation_sentence(material, catalogue)))
    note = material.grows["plantation"].get("note")
    if note:
        lines.append(Line(_sentence(note)))
    return lines


def _sizes(values: list[float], system: str, joiner: str = ", ") -> str:
    """Millimetres, or inches with --units us: thin sheets to the 1/1000, widths to the tenth."""
    if system == "us":
        return joiner.join(f"{v / 25.4:.3f}" if v < 25 else f"{v / 25.4:.1f}" for v in values) + " in"
    return joiner.join(f"{v:g}" for v in values) + " mm"


def _sentence(text: str) -> str:
    """A note as a sentence of its own."""
    return f"{text[0].upper()}{text[1:].rstrip('.')}."


def _passing(material: Material, catalogue: Catalogue) -> list[str]:
    """Engineered sheets that are made to pass for a wood, or the woods that such a sheet passes for."""
    if material.made_from is not None:
        names = [catalogue.material(wood).name for wood in material.made_from.get("look_of", ())]
        return [f"Made to pass for {words.joined(names)}."] if names else []
    rows = catalogue.rows("SELECT material_id, data FROM fact WHERE block = 'made_from' ORDER BY material_id")
    made = [
        row["material_id"]
        for row in rows
        if material.id in (json.loads(row["data"]) or {}).get("look_of", ())
    ]
    names = [catalogue.material(sheet).name for sheet in made]
    return [f"Sheets made to pass for it: {words.joined(names)}."] if names else []


def _look(material: Material, catalogue: Catalogue) -> list[Line]:
    look = material.look
    chip = catalogue.colour_classes[look["class"]]
    lines = [Line(f"Planed: {look['words']}.")]
    if look["oiled"]:
        lines.append(Line(f"Oiled: {look['oiled']}."))
    lines.append(Line(f"In years of light: {words.light_words(material)}."))
    build = []
    if look["grain"] != "unknown":
        build.append(f"grain {look['grain']}")
    if look["texture"] != "unknown":
        build.append(f"texture {look['texture']}")
    if look["pores"] != "unknown":
        build.append(words.PORE_WORDS[look["pores"]])
    if look["figures"]:
        build.append(f"sold with figure: {', '.join(look['figures'])}")
    if build:
        lines.append(Line(_sentence("; ".join(build))))
    lines += [Line(text) for text in sheets.sapwood_sentences(material)]
    lines.append(Line(f"Colour class: {chip.words} (a coarse word, for comparing only)."))
    lines += [Line(text) for text in _passing(material, catalogue)]
    for swatch in look["swatches"]:
        lab = "/".join(f"{v:g}" for v in swatch["lab"])
        light = swatch["light"].replace("not-stated", "an unstated light")
        lines.append(Line(f"Measured ({swatch['state']}, under {light}): L*a*b* {lab}, {swatch['source']}."))
    lines.append(Line(words.trust_sentence(material)))
    return lines


def _bend_and_glue(material: Material) -> list[Line]:
    work = material.working
    bend, glue, bleed = work["bending"], work["gluing"], work["bleed_through"]
    bends = {"easy": "Bends easily", "good": "Bends well", "moderate": "Bends moderately",
             "poor": "Bends badly", "unknown": "How it bends as a thin sheet is not known"}  # fmt: skip
    glues = {"easy": "Glues easily", "with-care": "Glue with care",
             "difficult": "Hard to glue", "unknown": "How it glues is not known"}  # fmt: skip
    risks = {"low": "Little risk of glue bleeding through", "medium": "Glue may bleed through",
             "high": "Glue bleeds through easily",
             "unknown": "Whether glue bleeds through is not known"}  # fmt: skip
    lines = []
    for said, block in (
        (bends[bend["class"]], bend),
        (glues[glue["class"]], glue),
        (risks[bleed["risk"]], bleed),
    ):
        extra = f": {block['words'].rstrip('.')}" if block.get("words") else ""
        lines.append(Line(f"{said}{extra}."))
    if work["tannin"] in ("medium", "high"):
        much = "Rich in tannin" if work["tannin"] == "high" else "Some tannin"
        lines.append(Line(f"{much}: iron (cauls, scrapers, water) stains it blue-black."))
    elif work["tannin"] == "unknown" and material.kind == "species":
        lines.append(Line("How much tannin it holds is not known: keep iron and water off it."))
    if work["oily"] in ("yes", "somewhat"):
        lines.append(Line("Oily: wipe with solvent or scuff the face just before gluing, and try a joint."))
    extract = sheets.extract_sentence(material)
    return [*lines, Line(extract)] if extract else lines


def _stay(material: Material, system: str) -> list[Line]:
    lines = []
    for axis, cut in (("tangential", "crown or peeled"), ("radial", "quarter cut")):
        moved = movement_per_100(material, axis)
        if moved is None:
            lines.append(Line(f"How much a {cut} leaf moves is not known."))
            continue
        amount, figure = moved
        size, change = leaf_words(amount, system)
        lines.append(
            Line(
                f"A {cut} leaf {size} wide moves {change} across "
                f"between a dry heated room and a damp one ({DRY:g} to {DAMP:g} % moisture): worked "
                f"out from {PROPERTIES[figure.name].asks} {words.number_of(figure, system)} "
                f"({citation(figure)}).",
                figure,
            )
        )
    ratio = _ratio(material)
    if ratio:
        lines.append(Line(ratio))
    volume = material.figure("shrinkage_volumetric")
    if volume:
        lines.append(Line(f"{_sentence(words.figure_sentence(volume, system))}", volume))
    return lines


def _ratio(material: Material) -> str | None:
    radial, tangential = (movement_per_100(material, a) for a in ("radial", "tangential"))
    if radial is None or tangential is None or not radial[0]:
        return None
    ratio = tangential[0] / radial[0]
    if ratio < 1:
        return (
            "Quarter is printed as moving more than crown, which is unusual: the source may have swapped "
            "the two."
        )
    times = f"Crown moves {ratio:.1f} times as much as quarter"
    if ratio >= 2:
        return f"{times}: wide crown leaves tend to cup."
    return f"{times}: even in its movement." if ratio < 1.5 else f"{times}, as most woods do."


_WEIGHTS = ("density", "moe", "mor", "side_hardness", "brinell_hardness", "compression_parallel")


def _heavy(material: Material, system: str) -> list[Line]:
    lines = []
    for name in _WEIGHTS:
        figure = material.figure(name)
        if figure is not None:
            lines.append(Line(_sentence(words.figure_sentence(figure, system)), figure))
        elif name in ("density", "moe", "side_hardness"):
            held = material.figures.get(name)
            said = f"{PROPERTIES[name].asks[0].upper()}{PROPERTIES[name].asks[1:]}: not known"
            if held and held.others:
                other = held.others[0]
                where = condition_words(other)
                said += (
                    f" in the usual condition; {words.number_of(other, system)}"
                    f"{f' {where}' if where else ''} ({citation(other)})"
                )
            lines.append(Line(f"{said}."))
    return lines


def _cautions(material: Material) -> tuple[str, ...]:
    dust = material.working["dust"]
    text = words.DUST_WORDS[dust["risk"]]
    if dust.get("words"):
        text += f": {dust['words'].rstrip('.')}"
    if dust.get("evidence"):
        place = f", {dust['source']}" if dust.get("source") else ""
        text += f" ({words.SAID_WORDS[dust['evidence']]}{place})"
    out = [_sentence(text), words.dust_line(material)]
    if material.working["splinters"] in ("yes", "somewhat"):
        out.append("Splinters: gloves for raw leaves, and get them out at once.")
    out += [_sentence(text) for text in material.cautions]
    if status.planted(material):
        natural = status.natural_figures_caution(material)
        if natural:
            out.append(natural)
    return tuple(out)


def _every(material: Material, system: str) -> list[Line]:
    lines = []
    for name in PROPERTIES:
        held = material.figures.get(name)
        if held is None:
            continue
        figures = ((held.preferred,) if held.preferred else ()) + held.others
        for figure in figures:
            where = condition_words(figure)
            mark = "" if figure is held.preferred else "also "
            note = f" {_sentence(figure.note)}" if figure.note else ""
            lines.append(
                Line(
                    f"{mark}{PROPERTIES[name].asks} {words.number_of(figure, system)}"
                    f"{f', {where}' if where else ''} ({citation(figure)}).{note}",
                    figure,
                )
            )
    return lines
