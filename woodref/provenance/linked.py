"""An item as JSON-LD: a schema.org Product with terms of our own, the context inside, nothing to be fetched.

No buyer, no price, no supplier, no plot and no note goes out. Amounts are whole numbers of mm2, nL and mg;
what is a fraction stands as text: a decimal where that is exact, else numerator/denominator.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from fractions import Fraction
from typing import Any

from woodref.provenance.bookname import book_name
from woodref.provenance.documents import PURCHASE, Paper
from woodref.provenance.naming import Names, plain_name
from woodref.provenance.provexport import BARE, HIDDEN, TERMS, local
from woodref.provenance.standing import Standing
from woodref.provenance.store import Store
from woodref.provenance.times import Moment
from woodref.provenance.trace import Root

SCHEMA = "https://schema.org/"
#: what schema.org has a word for; all else is a term of ours
OF_SCHEMA = (
    "Product", "Organization", "name", "productID", "serialNumber", "material", "manufacturer",
)  # fmt: skip
#: how well it is known where a lot came from, in the words of the sheet
DOCUMENTED, STATED, NOT_KNOWN = "documented", "stated by supplier", "not known"


def context() -> dict[str, Any]:
    """The context: schema.org by name, every other key a term of ours."""
    return {
        "@vocab": TERMS, "schema": SCHEMA, **{word: f"schema:{word}" for word in OF_SCHEMA},
        "productionDate": {"@id": "schema:productionDate", "@type": f"{SCHEMA}Date"},
        "url": {"@id": "schema:url", "@type": "@id"},
        "parts": {"@container": "@set"}, "species": {"@container": "@set"},
        "countriesOfHarvest": {"@container": "@set"}, "papers": {"@container": "@set"},
        "used": {"@container": "@set"}, "repairs": {"@container": "@set"}, "role": {"@container": "@set"},
    }  # fmt: skip


def linked_data(
    store: Store, item: str, at: Moment | None = None, names: Names = plain_name, maker: str | None = None,
    url: str | None = None, proof: Mapping[str, str] | None = None,
) -> dict[str, Any]:  # fmt: skip
    """An item as the book stood at a moment. names: as for the declaration; maker: the name of the workshop
    as it wants to be called; url: where the sheet is to be found; proof: received lot -> how well it is
    known, usual: by its papers of purchase.

    UnknownLot when there is no item of that id.
    """
    standing = Standing(store, at)
    state = standing.item(item)
    roots, parts = standing.roots(item), standing.parts(item)
    papers = standing.papers([root.held.lot.id for root in roots])
    wood = [root for root in roots if not root.used]
    out: dict[str, Any] = {
        "@context": context(), "@id": f"urn:woodref:book:{book_name(store)}:item:{local(item)}",
        "@type": "Product", "productID": item, "name": item,
        "productionDate": standing.lot(item).made[:10], "state": state.state,
    }  # fmt: skip
    for key, value in (("serialNumber", state.serial), ("label", state.label), ("url", url)):
        if value:
            out[key] = value
    if maker:
        out["manufacturer"] = {"@type": "Organization", "name": maker}
    out["material"] = list(dict.fromkeys(root.held.lot.wood for root in wood))
    out["parts"] = [
        _part(root, parts.get(root.held.lot.id, ()), papers[root.held.lot.id], names, proof) for root in wood
    ]
    masses = [root.wood_ng for root in wood]
    if masses and None not in masses:
        out["woodMass_g"] = exact(sum((m for m in masses if m is not None), Fraction(0)) / 10**9)
    out["used"] = [_used(root) for root in roots if root.used]
    out |= _kept(standing, item, papers)
    out["bookEvents"], out["bookHead"] = standing.events, standing.head
    out["asOf"] = standing.at.utc
    return out


def exact(value: Fraction) -> str:
    """'950.4', '34', '1/3': never rounded."""
    scaled, digits = value, 0
    while scaled.denominator != 1 and digits < 12:
        scaled, digits = scaled * 10, digits + 1
    if scaled.denominator != 1:
        return str(value)
    text = f"{abs(scaled.numerator):0{digits + 1}d}"
    sign = "-" if value < 0 else ""
    return sign + (f"{text[:-digits]}.{text[-digits:]}" if digits else text)


def amount(value: Fraction) -> int | str:
    """A whole number where it is one."""
    return value.numerator if value.denominator == 1 else exact(value)


def known(papers: Sequence[Paper]) -> str:
    """How well it is known where a lot came from, by its papers."""
    kinds = {paper.kind for paper in papers}
    if kinds & set(PURCHASE) - {"supplier-declaration"}:
        return DOCUMENTED
    return STATED if "supplier-declaration" in kinds else NOT_KNOWN


def _part(
    root: Root, roles: Sequence[str], papers: Sequence[Paper], names: Names, proof: Mapping[str, str] | None
) -> dict[str, Any]:
    lot = root.held.lot
    out: dict[str, Any] = {
        "@type": "Part", "lot": lot.id, "role": list(dict.fromkeys(roles)), "form": lot.form,
        "species": [_species(name, names) for name in lot.may_be],
        "nameCertain": bool(lot.species or lot.composition),
    }  # fmt: skip
    if lot.composition:
        out["species"] = [
            _species(name, names) | {"permille": permille} | ({"countriesOfHarvest": list(cs)} if cs else {})
            for name, permille, cs in lot.composition
        ]
    if lot.told.get("trade"):
        out["tradeName"] = str(lot.told["trade"])
    out["countriesOfHarvest"] = sorted(set(lot.countries))
    for key in ("forest", "harvest"):
        if lot.told.get(key):
            out[key] = str(lot.told[key])
    if lot.unit == "mm2":
        out["layerArea_mm2"] = amount(root.net)
    if root.nl is not None:
        out["volume_nL"] = amount(root.nl)
    if lot.thickness_um is not None:
        out["thickness_um"] = lot.thickness_um
    if root.ng is not None and root.wood_ng is not None:
        out["mass_g"], out["woodMass_g"] = exact(root.ng / 10**9), exact(root.wood_ng / 10**9)
    out["proof"] = (proof or {}).get(lot.id) or known(papers)
    out["papers"] = [_paper(paper) for paper in papers if paper.told.get("tier") not in HIDDEN]
    return out


def _species(name: str, names: Names) -> dict[str, Any]:
    written = names(name)
    out = {"@type": "Wood", "scientificName": " ".join(filter(None, (written.genus, written.species)))}
    return out | ({"nameInListing": written.older} if written.older else {})


def _paper(paper: Paper) -> dict[str, Any]:
    out: dict[str, Any] = {"@type": "Paper", "paper": paper.id, "kind": paper.kind}
    if paper.told.get("tier") in BARE:
        return out
    for key, value in (("issuedOn", paper.issued_on), ("sha256", paper.sha256)):
        if value:
            out[key] = value
    return out


def _used(root: Root) -> dict[str, Any]:
    """Glue or finish, as used: what was trimmed away is not weighed."""
    lot = root.held.lot
    out: dict[str, Any] = {"@type": "Used", "lot": lot.id, "form": lot.form}
    if lot.told.get("trade"):
        out["tradeName"] = str(lot.told["trade"])
    return out | {f"amount_{lot.unit}": amount(root.gross)}


def _kept(standing: Standing, item: str, papers: Mapping[str, Sequence[Paper]]) -> dict[str, Any]:
    """Finish, emission line, care, whether it can be mended, and what was."""
    kept = standing.kept(item)
    out: dict[str, Any] = {}
    if kept.finish and kept.finish.get("words"):
        out["finish"] = str(kept.finish["words"])
    if kept.report is not None:
        report = next((p for found in papers.values() for p in found if p.id == kept.report), None)
        if report is None or report.told.get("tier") not in HIDDEN:
            out["emission"] = kept.emission_words(report)
    if kept.care:
        out["care"] = kept.care
    if kept.repairable is not None:
        out["repairable"] = bool(kept.repairable["yes"])
        if kept.repairable.get("words"):
            out["repairWords"] = str(kept.repairable["words"])
    repairs = [p for p in standing.events_about(item, []) if p.event.kind == "repair" and p.event.in_]
    out["repairs"] = [
        {"@type": "Repair", "on": placed.event.at.local[:10], "lots": [s.lot for s in placed.event.in_]}
        for placed in repairs
    ]
    return out
