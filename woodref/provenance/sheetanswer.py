"""The reply to a customer who asks whether an item is sustainable: what is documented, by whom, for which
part and share of the weight, what is only stated, what nobody knows; and that no general word rests on it.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from woodref.catalogue.reader import Catalogue
from woodref.provenance.sheetdata import DOCUMENTED, STATED, UNKNOWN, capital
from woodref.provenance.sheetlines import paper_words
from woodref.provenance.store import Store
from woodref.selection.words import joined
from woodref.trade.shapes import OtherLaw

#: code of the rule on environmental claims to consumers in the data on other laws
CLAIMS = "eu-green-claims"


_LEADS = (
    (DOCUMENTED, "Documented, we hold paper of it"), (STATED, "Stated by the supplier alone"),
    (UNKNOWN, "Not known"),
)  # fmt: skip


@dataclass(frozen=True)
class Answer:
    """told: what the sheet says; rows: the rules on claims that the data hold; on: the day of the answer;
    quoted: lot -> words of a claim on its paper."""

    told: Mapping[str, Any]
    rows: Sequence[OtherLaw]
    on: dt.date
    quoted: Mapping[str, str]

    def sentences(self) -> list[str]:
        """The reply, to be sent as it stands."""
        item = self.told["item"]
        out = [
            f"You asked whether {item} is sustainable. We answer with what can be shown, and with what "
            "cannot."
        ]
        for word, lead in _LEADS:
            lines = [line for part in self._lots() if (line := self._line(part, word))]
            out += [f"{lead}:", *lines] if lines else [f"{lead}: nothing."]
        for lot, words in self.quoted.items():
            out.append(
                f'The paper of lot {lot} carries the words "{words}". That is a claim of who wrote it about '
                f"what they sold, and not a property of {item}."
            )
        return (
            [*out, *self._law(), str(self.told["caution"])] if self.told["caution"] else [*out, *self._law()]
        )

    def _lots(self) -> list[dict[str, Any]]:
        """One entry a lot, with the weight of all its rows."""
        found: dict[str, dict[str, Any]] = {}
        for part in self.told["parts"]:
            entry = found.setdefault(part["lot"], {**part, "in": [], "g": Decimal(0), "weighed": True})
            name = part["role"] or part["part"]
            if name not in entry["in"]:
                entry["in"].append(name)
            entry["weighed"] = entry["weighed"] and part["wood_g"] is not None
            entry["g"] += Decimal(part["wood_g"] or 0)
        return list(found.values())

    def _line(self, part: Mapping[str, Any], word: str) -> str | None:
        """'European beech (Fagus sylvatica), legs, 950.4 g (50.7 % of the wood): what wood it is and where it
        grew (Slovenia), by invoice of 2025-09-02.'; None where the word is said of nothing of it."""
        facts = (
            ("wood_is", "what wood it is"),
            ("origin_is", "where it grew" + (f" ({part['origin']})" if part["countries"] else "")),
            ("stand_is", "how it was grown" + (f" ({part['stand']})" if part["stand"] != UNKNOWN else "")),
        )
        said = [name for key, name in facts if part[key] == word]
        if not said:
            return None
        by = joined([_by(paper) for paper in part["papers"]]) if word != UNKNOWN and part["papers"] else ""
        shown = f", by {by}" if by else ""
        where = f"{part['wood']}, {', '.join(part['in'])}, {self._share(part)}"
        return capital(f"{where}: {joined(said)}{shown}.")

    def _share(self, part: Mapping[str, Any]) -> str:
        total = self.told["wood_g"]
        if total is None or not part["weighed"]:
            return "weight not known"
        return f"{part['g']} g ({100 * part['g'] / Decimal(total):.1f} % of the wood)"

    def _law(self) -> list[str]:
        out = [
            "A general word such as sustainable, green or eco-friendly may not rest on this, and we do not "
            "use it."
        ]
        for row in self.rows:
            start = "" if row.valid_from is None else f" from {row.valid_from.isoformat()}"
            if row.valid_from is not None and row.valid_from > self.on:
                start += ", which is still to come"
            memory = " (from memory)" if row.evidence == "recalled" else ""
            out.append(f"{row.law}, {row.citation}{start}{memory}: {row.do[:1].lower()}{row.do[1:]}")
        return out

    def as_dict(self) -> dict[str, Any]:
        """The JSON of `sheet --answer`."""
        return {
            "query": {"item": self.told["item"]}, "on": self.on.isoformat(), "sentences": self.sentences(),
            "rules": [{"id": row.id, "law": row.law, "citation": row.citation} for row in self.rows],
            "notices": [],
        }  # fmt: skip


def _by(paper: Mapping[str, Any]) -> str:
    return paper_words(paper) + (f" of {paper['issuer']}" if paper.get("issuer") else "")


def claims_in(rows: Sequence[OtherLaw], on: dt.date) -> list[OtherLaw]:
    """The rules on claims to consumers that stand on a day, or will from a later one."""
    return [row for row in rows if row.code == CLAIMS and (row.valid_to is None or row.valid_to > on)]


def answer_of(store: Store, catalogue: Catalogue, item: str, on: dt.date) -> Answer:
    """The reply for an item, closed or not yet shipped. UnknownLot, or BadState before it is closed."""
    from woodref.provenance.sheetasked import asked_of
    from woodref.provenance.sheetdata import sheet_of

    told = sheet_of(store, item, asked_of(store, catalogue, item, on))
    book = store.book()
    lots = dict.fromkeys(part["lot"] for part in told["parts"])
    words = {lot: book.lot(lot, "sheet").lot.told.get("claim_words") for lot in lots}
    quoted = {lot: str(said) for lot, said in words.items() if said}
    return Answer(told, claims_in(catalogue.rules.other_laws, on), on, quoted)
