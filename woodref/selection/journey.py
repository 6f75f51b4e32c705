"""A trade question as a person asks it: names to taxa, words checked, verdict in sentences."""

from __future__ import annotations

import datetime as dt
import re
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from woodref.catalogue.names import resolve
from woodref.catalogue.reader import Catalogue, Notice
from woodref.errors import BadQuantity, BadRequest, UnknownName, echo
from woodref.files import bytes_of
from woodref.selection.words import SAID_WORDS
from woodref.trade.shapes import ANSWERS, MODES, SOURCE_CODES, Item, Movement, Rules, Verdict
from woodref.trade.verdict import verdict
from woodref.units import date, day_or_year, quantity

#: forms that begin as a pressed blank: plywood in law until trimmed and worked
PRESSED = ("seat", "seat-part", "furniture", "furniture-part", "turned-ware", "joinery", "other-finished")
#: days after which rules older than the movement head the answer
STALE = 365
ANSWER_WORDS = {
    "stop": "Stop: this may not move.",
    "check": "Check: a deciding fact is missing or unsure.",
    "papers": "Papers are due.",
    "no-listing-paper": "No paper is due under a listing. That is not the same as free to trade: see the "
    "other laws below.",
}
CITES_SAYS = {
    "not-listed": "is not listed, as far as our lists go",
    "not-yet-listed": "is not listed yet on that day",
    "population-not-covered": "is listed, but not wood from there",
    "form-exempt": "is listed, but this form is exempt",
    "permit": "is listed and needs a permit",
    "certificate-of-origin": "is in Appendix III and needs a certificate of origin",
    "pre-convention-certificate": "is older than its listing and needs the certificate that proves it",
    "instrument-certificate": "travels on an instrument certificate",
    "sale-certificate": "may be sold inside only with a certificate in hand",
    "no-border": "is listed, but no border is crossed",
    "prohibited": "can get no paper for this",
    "check": "cannot be judged yet",
}


@dataclass(frozen=True)
class Asked:
    """The question in law's terms, with the names as typed."""

    item: Item
    movement: Movement
    names: tuple[tuple[str, tuple[str, ...]], ...]
    notices: tuple[Notice, ...]


@dataclass(frozen=True)
class Answer:
    """verdicts: one, or two (as blank, as finished) when they differ."""

    asked: Asked
    verdicts: tuple[tuple[str, Verdict], ...]
    rules: Rules
    notices: tuple[Notice, ...]
    stamp: dict[str, str]

    def as_dict(self) -> dict[str, Any]:
        """The JSON contract of `trade`: the strictest verdict's keys, and each state's verdict."""
        item, movement = self.asked.item, self.asked.movement
        states = {state: v.as_dict() for state, v in self.verdicts}
        return {
            "query": {
                "names": [{"name": n, "woods": list(w)} for n, w in self.asked.names],
                "woods": list(item.woods),
                "form": item.form,
                "from": movement.start,
                "to": movement.to,
                "on": movement.on.isoformat(),
                "origin": item.origin,
                "acquired": item.acquired.isoformat() if item.acquired else None,
                "kg": item.kg,
                "items": item.items,
                "mode": movement.mode,
                "commercial": movement.commercial,
                "source_code": item.source_code,
                "shape": item.shape,
                "state": item.state,
                "business": movement.business,
                "shipped": movement.shipped.isoformat() if movement.shipped else None,
            },
            **self.verdicts[0][1].as_dict(),
            "states": states if len(states) > 1 else None,
            "notices": [n.as_dict() for n in self.notices],
            "catalogue": self.stamp,
        }

    def page(self) -> list[tuple[str, list[str]]]:
        """Headings and sentences for print."""
        out: list[tuple[str, list[str]]] = []
        if len(self.verdicts) > 1:
            out.append(("The part as blank and as finished", [_differ(self.verdicts)]))
        for state, found in self.verdicts:
            label = f" ({state})" if len(self.verdicts) > 1 else ""
            out += [(f"{h}{label}", lines) for h, lines in _sections(found, self.rules)]
        out.append(("Mind", [self.verdicts[0][1].caution]))
        return out


def _differ(verdicts: tuple[tuple[str, Verdict], ...]) -> str:
    told = ", ".join(f"as {state} it {CITES_SAYS[v.cites]}" for state, v in verdicts)
    finished, blank = (ANSWERS.index(v.answer) for _, v in verdicts)
    mend = " Ship it finished." if blank < finished else ""
    return f"An untrimmed pressed blank is plywood in law, a finished part is not: {told}.{mend}"


def _sections(found: Verdict, rules: Rules) -> list[tuple[str, list[str]]]:
    short = [ANSWER_WORDS[found.answer]]
    if (found.movement.on - found.as_of).days > STALE:
        short.insert(0, next(d.sentence for d in found.doubts if d.code == "rules-older-than-date"))
    for wood in found.woods:
        short.append(f"{wood.wood} {CITES_SAYS[wood.cites]}.")
    papers = []
    for wood in found.woods:
        for d in wood.leg.documents:
            papers.append(f"{d.name[0].upper()}{d.name[1:]} for {wood.wood}, issued by {d.issued_by}.")
    out = [("In short", short)]
    if papers:
        out.append(("Papers", list(dict.fromkeys(papers))))
    out.append(("Why", [cited(r.sentence, r.citation, r.source, r.evidence) for r in found.reasons]))
    if found.other_laws:
        lines = []
        for law in found.other_laws:
            limit = f" Limit: {law.limit}." if law.limit else ""
            said = f"{law.law}: {law.do}{limit}"
            lines.append(cited(said, law.citation, law.source, law.evidence))
        out.append(("Other laws", lines))
    if found.doubts:
        out.append(("What is not sure", [d.sentence for d in found.doubts]))
    if found.headings:
        heads = ", ".join(found.headings)
        out.append(("Customs", [f"Usual heading: {heads}. Your customs agent decides."]))
    return out


def cited(sentence: str, citation: str | None, source: str | None, evidence: str) -> str:
    """A sentence with its source in brackets, or the mark that it is from memory."""
    grade = "our rule of judgement" if evidence == "common-practice" else SAID_WORDS[evidence]
    place = "; ".join(part for part in (citation, source) if part)
    return f"{sentence.rstrip('.')}. [{place + ', ' if place else ''}{grade}]"


def answer(asked: Asked, catalogue: Catalogue) -> Answer:
    """Ask the trade room; for a pressed part of unstated condition, as finished and as blank."""
    rules = catalogue.rules
    item = asked.item
    if item.state is None and item.form in PRESSED:
        finished = verdict(replace(item, state="finished"), asked.movement, rules)
        blank = verdict(replace(item, state="blank"), asked.movement, rules)
        same = (finished.answer, finished.cites) == (blank.answer, blank.cites)
        verdicts = (("finished", finished),) if same else (("finished", finished), ("blank", blank))
    else:
        verdicts = ((item.state or "as it is", verdict(item, asked.movement, rules)),)
    return Answer(asked, verdicts, rules, (*catalogue.notices, *asked.notices), catalogue.stamp)


def taxa(
    name: str, catalogue: Catalogue, on: dt.date, region: str | None
) -> tuple[tuple[str, ...], tuple[Notice, ...]]:
    """Accepted botanical names behind a name: a material's woods, or a Latin name the law knows."""
    tidy = " ".join(name.split())
    latin = catalogue.law_synonyms.get(tidy.casefold())
    if latin:
        message = f"{tidy} is an older name of {latin} ({tidy} may stand in brackets on the papers)."
        return (latin,), (Notice("older-name", message),)
    try:
        matched = resolve(tidy, catalogue, on, region)
    except UnknownName:
        if (
            re.fullmatch(r"[A-Z][a-z]+( (x |×\s?)?[a-z-]+\.?)*", tidy)
            and tidy.split()[0] in catalogue.law.by_genus
        ):
            return (tidy,), ()
        raise
    return catalogue.material(matched.id).woods, matched.notices


def _code(value: Any, option: str, rules: Rules) -> str:
    text = str(value).strip()
    if text not in rules.names:
        raise BadRequest(
            f"{option} {echo(text)} is not a country code",
            expected="an ISO 3166-1 code of two capitals, such as GH, or GB-NIR",
        )
    return text


def _one_of(value: Any, option: str, known: tuple[str, ...]) -> str:
    text = str(value).strip()
    if text not in known:
        raise BadRequest(f"{option} {echo(text)} is not known", expected=", ".join(known))
    return text


def _mass(value: Any) -> float:
    text = str(value)
    found = quantity(text, "kg").to("kg")
    if found.value < 0:
        raise BadQuantity(f"{echo(text)} is below zero", where="--kg", expected="a mass such as 1.2")
    return float(found.value)


def from_options(
    name: str | None, given: dict[str, Any], catalogue: Catalogue, on: dt.date, region: str | None
) -> Asked:
    """The question from command-line words; BadRequest says what is missing or not known."""
    if not name:
        raise BadRequest("no wood is named", expected="a name, or --goods FILE")
    return asked_of([name], given, catalogue, on, region)


def from_file(path: Path, catalogue: Catalogue, on: dt.date, region: str | None) -> Asked:
    """The question from a YAML file: woods, form and the other words of the command line as keys."""
    from woodref.catalogue.yamlload import MAX_BYTES, load

    body = bytes_of(path, MAX_BYTES, BadRequest, "Name a file of goods.")
    value, findings = load(body, str(path))
    if findings:
        first = findings[0]
        raise BadRequest(first.says, where=f"{path}:{first.line}")
    keys = {"woods", "form", "from", "to", "on", "origin", "acquired", "kg", "items", "mode", "commercial",
            "source_code", "shape", "state", "business", "shipped", "planted"}  # fmt: skip
    if not isinstance(value, dict) or set(value) - keys:
        wrong = echo(", ".join(sorted(set(value) - keys)))[1:-1] if isinstance(value, dict) else "no mapping"
        raise BadRequest(f"no file of goods: {wrong}", where=str(path), expected=", ".join(sorted(keys)))
    woods = value.pop("woods", None)
    if not isinstance(woods, list) or not woods or not all(isinstance(w, str) for w in woods):
        raise BadRequest("woods is missing", where=str(path), expected="a list of names")
    given = {k: v for k, v in value.items() if v is not None}
    given["start"] = given.pop("from", None)
    return asked_of(woods, given, catalogue, on, region)


def asked_of(
    names: list[str], given: dict[str, Any], catalogue: Catalogue, on: dt.date, region: str | None
) -> Asked:
    """The question about goods of these woods. given: the words of the command line by key (start for
    --from); BadRequest says what is missing or not known."""
    rules = catalogue.rules
    for key, option in (("form", "--form"), ("start", "--from"), ("to", "--to")):
        if not given.get(key):
            raise BadRequest(f"{option} is missing", next="See: woodref trade --help")
    day = date(str(given["on"]), "--on") if given.get("on") else on
    acquired = day_or_year(str(given["acquired"]), "--acquired") if given.get("acquired") else None
    shipped = date(str(given["shipped"]), "--shipped") if given.get("shipped") else None
    if acquired and acquired > day:
        raise BadRequest(f"the wood was acquired on {acquired}, after the journey on {day}")
    if shipped and shipped > day:
        raise BadRequest(f"the goods sailed on {shipped}, after the journey on {day}")
    found = [(name, *taxa(name, catalogue, day, region)) for name in names]
    woods = tuple(dict.fromkeys(w for _, ws, _ in found for w in ws))
    code = given.get("source_code")
    item = Item(
        woods=woods,
        form=_one_of(given["form"], "--form", tuple(rules.forms)),
        kg=_mass(given["kg"]) if given.get("kg") is not None else None,
        items=int(given.get("items") or 1),
        origin=_code(given["origin"], "--origin", rules) if given.get("origin") else None,
        source_code=_one_of(code, "--source-code", SOURCE_CODES) if code else None,
        acquired=acquired,
        shape=given.get("shape"),
        state=given.get("state"),
        planted=given.get("planted"),
    )
    movement = Movement(
        start=_code(given["start"], "--from", rules),
        to=_code(given["to"], "--to", rules),
        on=day,
        mode=_one_of(given.get("mode") or "cargo", "--mode", MODES),
        commercial=bool(given.get("commercial", True)),
        business=given.get("business"),
        shipped=shipped,
    )
    notices = tuple(n for _, _, ns in found for n in ns)
    return Asked(item, movement, tuple((n, w) for n, w, _ in found), notices)
