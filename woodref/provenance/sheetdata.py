"""What a customer sheet says of an item, as one value of text and whole numbers that can be signed.

Wording: "documented" (we hold paper of it), "stated by supplier" (the supplier's word alone), "not known".
The sheet makes no claim of its own beyond that; what is not proven stands in plain words. It holds no buyer,
no price and no person.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any

from woodref.errors import echo
from woodref.provenance.book import Item
from woodref.provenance.documents import PERMITS, PURCHASE, Paper, paper_of
from woodref.provenance.evidence import Verdict
from woodref.provenance.faults import BadShape, BadState
from woodref.provenance.lots import Lot
from woodref.provenance.store import Store
from woodref.provenance.trace import Root, contents, edges_back
from woodref.selection.words import joined

SHEET = "customer sheet 1"
DOCUMENTED, STATED, UNKNOWN = "documented", "stated by supplier", "not known"
FOREST_WORDS = {
    "plantation": "plantation", "managed-natural": "managed natural forest", "primary": "primary forest",
    "unknown": "not known",
}  # fmt: skip
#: papers that can speak of how wood was grown
GROWN = ("custody-claim", "composition-sheet", "permit-export", "affidavit", "test-report")
#: tiers of papers whose number a sheet may show
SHOWN = ("public", "customer")
MAKER_LETTERS = 120
#: a chain of custody alone carries no claim (ISO 22095:2020, as its catalogue entry says)
CUSTODY = (
    "That a wood can be followed from leaf to item says where it went. It is no claim about how it was grown."
)


@dataclass(frozen=True)
class Asked:
    """What is needed beside the book. called: botanical name -> what people call it; listed_as: -> the older
    name that a listing uses, or None; verdicts: (destination, verdict, its sentence, what is wanting)."""

    maker: str | None = None
    called: Callable[[str], str | None] = lambda name: None
    listed_as: Callable[[str], str | None] = lambda name: None
    verdicts: Sequence[tuple[str, Verdict, str, Sequence[str]]] = ()
    country: Callable[[str], str] = lambda code: code
    caution: str = ""
    rules_as_of: str = ""
    catalogue: Mapping[str, str] = field(default_factory=dict)


def sheet_of(store: Store, item_id: str, asked: Asked) -> dict[str, Any]:
    """The facts of a sheet, but for version, head and day. UnknownLot; BadState before the item is closed."""
    book = store.book()
    item = book.item(item_id, "sheet")
    if item.closed_by is None:
        raise BadState(
            f"{item.id} is {item.state}", where="sheet", next=f"Close it first: woodref item close {item.id}"
        )
    made = book.lot(item_id, "sheet")
    closing = book.event(item.closed_by, "sheet")
    parts = _parts(store, item_id, asked, _roles(store, item_id))
    return {
        "kind": SHEET,
        "item": item.id,
        "serial": item.serial,
        "label": item.label,
        "maker": _maker(asked.maker),
        "made": made.made[:7],
        "closed": closing.at.local[:10],
        "parts": parts,
        "wood_g": _total(parts),
        "custody": _custody(store, item_id),
        "used": _used(store, item_id),
        "kept": _kept(store, item),
        "not_proven": _not_proven(parts),
        "destinations": [_destination(*verdict) for verdict in asked.verdicts],
        "rules": {"as_of": asked.rules_as_of, "catalogue": dict(asked.catalogue)},
        "caution": asked.caution,
    }


def _maker(words: str | None) -> str | None:
    if words is not None and (not words.strip() or len(words) > MAKER_LETTERS or not words.isprintable()):
        raise BadShape(f"{echo(words)} is no name of a shop", where="--maker", expected="one line of text")
    return words


def _roles(store: Store, item_id: str) -> dict[str, str]:
    """Lot -> what it is in the item: face, core, back ..."""
    from woodref.provenance.closing import last_closing
    from woodref.provenance.kept import Kept
    from woodref.provenance.partroles import roles_of

    told = roles_of(store, item_id, Kept.of(last_closing(store, item_id)))
    return {lot: role for role, lots in told.items() for lot in lots}


def _parts(store: Store, item_id: str, asked: Asked, roles: Mapping[str, str]) -> list[dict[str, Any]]:
    """One row a received lot of wood in each part of the item, masses to a tenth of a gram that add up."""
    book, edges = store.book(), edges_back(store, item_id)
    rows: list[tuple[str, str, Root, Fraction]] = []
    for edge in sorted(edges.get(item_id, ()), key=lambda e: e.parent):
        for root_id, (net, gross) in sorted(contents(edges, edge.parent).items()):
            held = book.lot(root_id, "sheet")
            if held.lot.wooden:
                root = Root(held, net * edge.net, gross * edge.gross)
                rows.append((edge.parent, _role(edges, edge.parent, root_id, roles), root, root.net))
    masses = tenths([None if r.wood_ng is None else Fraction(r.wood_ng, 10**9) for _, _, r, _ in rows])
    papers = {root.held.lot.id: papers_of(store, root.held.lot.id) for _, _, root, _ in rows}
    return [
        _row(part, role, root, mass, papers[root.held.lot.id], asked)
        for (part, role, root, _), mass in zip(rows, masses, strict=True)
    ]


def _role(edges: Mapping[str, Any], part: str, root: str, roles: Mapping[str, str]) -> str:
    """What a received lot is in a part: the role of any lot on the way down to it; '' where none was told."""
    found, todo, seen = [], [part], set()
    while todo:
        lot = todo.pop()
        if lot in seen:
            continue
        seen.add(lot)
        below = contents(dict(edges), lot)
        if root not in below:
            continue
        if lot in roles:
            found.append(roles[lot])
        todo += [e.parent for e in edges.get(lot, ())]
    return ", ".join(sorted(dict.fromkeys(found)))


def tenths(grams: Sequence[Fraction | None]) -> list[str | None]:
    """Masses to 0.1 g by largest remainder, so that the printed lines add up to the printed total."""
    scaled = [None if g is None else g * 10 for g in grams]
    known = [s for s in scaled if s is not None]
    floors = [s.numerator // s.denominator for s in known]
    total = sum(known, Fraction(0))
    short = int(total + Fraction(1, 2)) - sum(floors)
    order = sorted(range(len(known)), key=lambda i: (floors[i] - known[i], i))
    for index in order[:short]:
        floors[index] += 1
    found = iter(floors)
    return [None if s is None else _tenth(next(found)) for s in scaled]


def _tenth(value: int) -> str:
    return f"{value // 10}.{value % 10}"


def _total(parts: Sequence[Mapping[str, Any]]) -> str | None:
    """Wood of the item [g], None when the mass of one lot is not known."""
    masses = [part["wood_g"] for part in parts]
    if None in masses:
        return None
    return _tenth(sum(int(m.replace(".", "")) for m in masses))


def papers_of(store: Store, lot: str) -> list[Paper]:
    """The papers of a lot that the book holds, oldest first."""
    import json

    rows = store.rows(
        "SELECT p.told FROM paper p JOIN paper_lot l ON l.paper = p.id WHERE l.lot = :lot "
        "ORDER BY p.recorded, p.id",
        lot=lot,
    )
    return [paper_of(json.loads(told), lot) for (told,) in rows]


def proof_word(papers: Sequence[Paper]) -> str:
    """What stands behind a lot: paper, the supplier's word, or nothing."""
    kinds = {paper.kind for paper in papers}
    if kinds & ({*PURCHASE, *PERMITS} - {"supplier-declaration"}):
        return DOCUMENTED
    return STATED if "supplier-declaration" in kinds else UNKNOWN


def grown_word(papers: Sequence[Paper]) -> str:
    """What stands behind how it was grown: an invoice says where wood was bought, and of its growing it is no
    more than the seller's word."""
    if {paper.kind for paper in papers} & set(GROWN):
        return DOCUMENTED
    return UNKNOWN if proof_word(papers) == UNKNOWN else STATED


def _row(
    part: str, role: str, root: Root, mass: str | None, papers: Sequence[Paper], asked: Asked
) -> dict[str, Any]:
    lot, told = root.held.lot, root.held.lot.told
    word = proof_word(papers)
    countries = lot.countries or tuple(dict.fromkeys(c for _, _, cs in lot.composition for c in cs))
    stand = FOREST_WORDS.get(str(told.get("forest") or "unknown"), "not known")
    return {
        "part": part, "role": role, "lot": lot.id,
        "wood": _wood(lot, asked), "botanical": list(lot.may_be), "words": told.get("trade"),
        "form": lot.form, "cut": told.get("cut"), "thickness_um": lot.thickness_um,
        "layer": str(root.net), "unit": lot.unit, "wood_g": mass,
        "countries": list(countries), "origin": _origin(countries, told, asked), "stand": stand,
        "harvest": told.get("harvest"), "flitch": told.get("flitch"), "bundle": told.get("bundle"),
        "wood_is": word if lot.may_be else UNKNOWN,
        "origin_is": word if countries else UNKNOWN,
        "stand_is": grown_word(papers) if stand != "not known" else UNKNOWN,
        "papers": [_paper(paper) for paper in papers if paper.told.get("tier") != "private"],
    }  # fmt: skip


def _wood(lot: Lot, asked: Asked) -> str:
    """'Indian rosewood (Dalbergia latifolia)', with the name that a listing uses where it is another."""
    if not lot.may_be:
        return "not identified"
    names = []
    for name in lot.may_be:
        older = asked.listed_as(name)
        full = f"{name} [listed as {older}]" if older else name
        called = asked.called(name)
        names.append(f"{called} ({full})" if called else full)
    between = " or " if lot.told.get("one_of") else ", "
    made = "engineered veneer of " if lot.form == "engineered-veneer" else ""
    return made + between.join(names)


def _origin(countries: Sequence[str], told: Mapping[str, Any], asked: Asked) -> str:
    places = " or ".join(asked.country(code) for code in countries)
    finer = ", ".join(str(told[key]) for key in ("region", "stand") if told.get(key))
    return (f"{places} ({finer})" if finer else places) or "not known"


def _paper(paper: Paper) -> dict[str, Any]:
    """A paper by kind and day; its number where its tier lets a customer see it, and never what is secret."""
    shown = paper.told.get("tier") in SHOWN
    return {
        "id": paper.id, "kind": paper.kind, "issued_on": paper.issued_on,
        "number": paper.told.get("number") if shown else None, "sha256": paper.sha256 if shown else None,
    }  # fmt: skip


def _custody(store: Store, item_id: str) -> list[str]:
    """How each part keeps its sources apart, worked out and never typed."""
    book, edges = store.book(), edges_back(store, item_id)
    out = []
    for edge in sorted(edges.get(item_id, ()), key=lambda e: e.parent):
        for made in _sheets(edges, edge.parent):
            below = {
                r: net for r, (net, _) in contents(edges, made).items() if book.lot(r, "sheet").lot.wooden
            }
            if len(below) > 1:
                total = sum(below.values(), Fraction(0))
                shares = " and ".join(f"{share / total} from {root}" for root, share in sorted(below.items()))
                out.append(
                    f"{edge.parent}: {made} was jointed or mixed, {shares}. Which spot of it is which is not "
                    "recorded, so each counts as the least proven of them."
                )
    if not out:
        out = ["Every layer can be followed to one received lot: nothing was mixed on the way."]
    return [*out, CUSTODY]


def _sheets(edges: Mapping[str, Any], part: str) -> list[str]:
    """Lots within a part that several lots of one layer went into: jointed sheets and merged lots."""
    out, todo, seen = [], [part], set()
    while todo:
        lot = todo.pop()
        if lot in seen:
            continue
        seen.add(lot)
        below = edges.get(lot, ())
        if len(below) > 1 and all(e.plies == 1 for e in below) and sum(e.net for e in below) == 1:
            out.append(lot)
        todo += [e.parent for e in below]
    return sorted(out)


def _used(store: Store, item_id: str) -> list[dict[str, Any]]:
    """Glue and finish: used on it, not weighed in it."""
    from woodref.provenance.trace import whence

    return [
        {"lot": r.held.lot.id, "form": r.held.lot.form, "words": r.held.lot.told.get("trade"),
         "material": r.held.lot.told.get("material"), "amount": str(r.gross), "unit": r.held.lot.unit,
         "papers": [_paper(p) for p in papers_of(store, r.held.lot.id) if p.told.get("tier") != "private"]}
        for r in whence(store, item_id) if r.used
    ]  # fmt: skip


def _kept(store: Store, item: Item) -> dict[str, Any]:
    """Finish, emission line, care and repair as the maker told them at closing."""
    from woodref.provenance.closing import last_closing
    from woodref.provenance.kept import Kept

    kept = Kept.of(last_closing(store, item.id))
    report = None if kept.report is None else store.book().paper(kept.report)
    return {
        "finish": (kept.finish or {}).get("words"),
        "emission": kept.emission_words(report) if kept.emission else None,
        "care": kept.care,
        "repairable": None if kept.repairable is None else bool(kept.repairable["yes"]),
        "repair_words": None if kept.repairable is None else kept.repairable.get("words"),
    }


_PROVEN = (("wood_is", "what wood it is"), ("origin_is", "where it grew"), ("stand_is", "how it was grown"))


def _not_proven(parts: Sequence[Mapping[str, Any]]) -> list[str]:
    """In plain words, a lot at a time."""
    out = []
    for row in {row["lot"]: row for row in parts}.values():
        wants = [words for key, words in _PROVEN if row[key] == UNKNOWN]
        stated = [words for key, words in _PROVEN if row[key] == STATED]
        name = f"{capital(row['wood'])}, lot {row['lot']}"
        if wants:
            out.append(f"{name}: no paper shows {joined(wants)}.")
        if stated:
            out.append(f"{name}: {joined(stated)} is the word of the supplier alone.")
    return out


def _destination(name: str, verdict: Verdict, sentence: str, wanting: Sequence[str]) -> dict[str, Any]:
    rules = verdict.rules
    return {
        "destination": name, "status": verdict.status, "sentence": sentence, "wanting": list(wanting),
        "rules": rules.id, "version": rules.version, "on": verdict.on.isoformat(),
    }  # fmt: skip


def capital(text: str) -> str:
    return text[:1].upper() + text[1:]
