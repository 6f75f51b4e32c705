"""A bundle checked: its numbers worked anew from its own figures, and its figures beside those held here."""

from __future__ import annotations

import json
import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from woodref.catalogue.reader import Catalogue
from woodref.errors import BadBundle, WoodrefError, visible
from woodref.layup.bundle import Bundle, card_of, text_of
from woodref.layup.bundlebeside import Beside, beside_here
from woodref.layup.bundlefigures import Gathered, gather
from woodref.layup.saying import plural
from woodref.layup.whatif import beside
from woodref.version import __version__

#: two numbers are the same when they differ by no more than this share: the last digit may be the machine's
ALIKE = 1e-9
#: keys of the report that speak of the catalogue held where it was made
_NOT_COMPARED = ("catalogue", "notices")
#: what speaks of the law: it is no part of a bundle and asked anew of the lists held here
_LAW, _LAW_ANSWER, _LAW_FINDING = "trade", "trade_answer", "restricted"
#: sentences of the whole report: where the law says otherwise they may
_SENTENCES = ("short", "page")
#: letters of a value that are told whole
_SHORT = 40
#: entries of a list that are told one by one
_TOLD = 10


@dataclass(frozen=True)
class Otherwise:
    """One value of the report that comes out otherwise. path: its place in report.json."""

    path: str
    bundled: Any
    anew: Any

    @property
    def sentence(self) -> str:
        was, now = _said(self.bundled), _said(self.anew)
        if max(len(was), len(now)) > _SHORT:
            return f"{visible(self.path)} reads otherwise."
        return f"{visible(self.path)}: {was} in the bundle, {now} worked anew."

    def as_dict(self) -> dict[str, Any]:
        return {"path": self.path, "bundled": self.bundled, "anew": self.anew}


@dataclass(frozen=True)
class Checked:
    """numbers: how many were compared; differ, words_differ: numbers and words that come out otherwise;
    law_same: what the law says; text_same, card_same: the report in words and the bench card read as they are
    made here; beside: the figures beside those held here; by_here: what comes out otherwise by these, as
    (what, in the bundle, here); here_fails: why the layup cannot be worked by the catalogue held here."""

    bundle: Bundle
    title: str
    numbers: int
    differ: tuple[Otherwise, ...]
    words_differ: tuple[Otherwise, ...]
    law_same: bool
    text_same: bool
    card_same: bool
    beside: Beside
    by_here: tuple[tuple[str, str, str], ...]
    here_fails: str | None
    stamp: dict[str, str]

    @property
    def same(self) -> bool:
        """Whether all that does not hang on the law comes out the same."""
        return not self.differ and not self.words_differ and not self.papers_altered

    @property
    def papers_altered(self) -> bool:
        """Whether report or card read otherwise though nothing is there that would make them."""
        follows = self.differ or self.words_differ or not self.law_same
        if follows or self.bundle.about.woodref != __version__:
            return False
        return not (self.text_same and self.card_same)

    def sentences(self) -> list[str]:
        """What was found, the sums first."""
        about = self.bundle.about
        out = [
            f"Bundle of the layup {self.title}: its sums hold, so no file of it was spoilt on its way.",
            f"It was made by woodref {about.woodref} for {about.day.isoformat()}, from catalogue "
            f"{about.digest}; here are woodref {__version__} and catalogue {self.stamp['digest']}.",
            *self._anew(),
            *self._papers(),
            *self._here(),
        ]  # fmt: skip
        return out

    def _anew(self) -> list[str]:
        if not self.differ and not self.words_differ:
            return [f"Worked anew from the bundled figures, all {self.numbers:,} numbers are the same."]
        out = []
        if self.differ:
            verb = "comes" if len(self.differ) == 1 else "come"
            out.append(
                f"Worked anew from the bundled figures, {len(self.differ):,} of {self.numbers:,} numbers "
                f"{verb} out otherwise:"
            )
            out += _listed([d.sentence for d in self.differ])
        if self.words_differ:
            many = plural(len(self.words_differ), "word or mark", "words and marks")
            verb = "comes" if len(self.words_differ) == 1 else "come"
            out.append(f"Of the report in JSON {many} {verb} out otherwise:")
            out += _listed([d.sentence for d in self.words_differ])
        other = self.bundle.about.woodref != __version__
        why = "another version of woodref made it, and works it otherwise" if other else (
            "this same version of woodref made it, so its report or its figures were altered afterwards"
        )  # fmt: skip
        return [*out, f"That is worked from the bundle's own figures: {why}."]

    def _papers(self) -> list[str]:
        day = self.bundle.about.day.isoformat()
        same = "the same" if self.law_same else "otherwise than the bundle"
        out = [f"The law is in no bundle: the lists held here, asked for {day}, say {same}."]
        if self.text_same and self.card_same:
            return [*out, "The report in words and the bench card read as they are made here."]
        which = " and ".join(
            name
            for name, alike in (("the report in words", self.text_same), ("the bench card", self.card_same))
            if not alike
        )
        verb = "reads" if self.text_same or self.card_same else "read"
        why = (
            "since no number, law or version differs, somebody has altered it: do not press by it"
            if self.papers_altered
            else "that follows from what is told above"
        )
        return [*out, f"{which[0].upper()}{which[1:]} {verb} otherwise than made here; {why}."]

    def _here(self) -> list[str]:
        out = self.beside.sentences()
        if self.here_fails:
            out.append(f"By the catalogue held here the layup cannot be worked: {self.here_fails}")
        elif self.by_here:
            out.append("By the figures held here the part would come out otherwise:")
            out += [
                f"{what}: {was} by the bundle, {now} by the figures here." for what, was, now in self.by_here
            ]
        elif self.beside.count:
            out.append("What a maker reads of the part comes out the same by the figures held here.")
        return out

    def as_dict(self) -> dict[str, Any]:
        """The JSON of `layup BUNDLE`."""
        return {
            "query": {"layup": self.bundle.about.layup, "title": self.title},
            "bundle": self.bundle.about.as_dict(),
            "sums_hold": True,
            "same": self.same,
            "numbers": {"count": self.numbers, "differ": [d.as_dict() for d in self.differ]},
            "words_differ": [d.as_dict() for d in self.words_differ],
            "law_same": self.law_same,
            "report_same": self.text_same,
            "bench_card_same": self.card_same,
            "figures": self.beside.as_dict(),
            "by_figures_here": [
                {"what": what, "bundled": was, "here": now} for what, was, now in self.by_here
            ],
            "cannot_work_here": self.here_fails,
            "sentences": self.sentences(),
            "notices": [],
            "catalogue": self.stamp,
        }


def check(found: Bundle, catalogue: Catalogue, where: str) -> Checked:
    """The bundle worked anew and laid beside the catalogue. BadBundle when it cannot be worked at all."""
    try:
        anew = found.report(catalogue)
    except WoodrefError as fault:
        raise BadBundle(
            f"its layup cannot be worked from its figures: {str(fault).rstrip('.')}", where=where
        ) from None
    told = json.loads(json.dumps(anew.as_dict(), allow_nan=False))
    law_same = _law(found.told) == _law(told)
    numbers, differ, words = _compared(_to_compare(found.told, law_same), _to_compare(told, law_same))
    here: Gathered | None = None
    by_here: tuple[tuple[str, str, str], ...] = ()
    fails = None
    try:
        mine = found.report_of(catalogue)
        here = gather(mine, catalogue, found.about.day, found.about.region)
        _, rows = beside(anew, mine)
        by_here = tuple((what, was, now) for what, was, now in rows if was != now)
    except WoodrefError as fault:
        fails = str(fault)
    return Checked(
        found, anew.layup.title, numbers, differ, words, law_same,
        text_of(anew) == found.text, card_of(anew, found.over(catalogue)) == found.card,
        beside_here(found.gathered, here, catalogue), by_here, fails, catalogue.stamp,
    )  # fmt: skip


def _to_compare(told: Mapping[str, Any], law_same: bool) -> dict[str, Any]:
    """A report without what speaks of the law or of the catalogue."""
    apart = {*_NOT_COMPARED, _LAW, _LAW_ANSWER, *(() if law_same else _SENTENCES)}
    out = {key: value for key, value in told.items() if key not in apart}
    if isinstance(out.get("findings"), list):
        out["findings"] = [f for f in out["findings"] if not _of_law(f)]
    rows = told.get(_LAW)
    if isinstance(rows, list):  # the mass of each wood is the part's, whatever the law says of it
        out[_LAW] = [{"kg": row.get("kg")} for row in rows if isinstance(row, dict)]
    return out


def _of_law(finding: Any) -> bool:
    return isinstance(finding, dict) and finding.get("code") == _LAW_FINDING


def _law(told: Mapping[str, Any]) -> Any:
    """What a report says of the law."""
    found = told.get("findings")
    return (
        told.get(_LAW),
        told.get(_LAW_ANSWER),
        [f for f in found if _of_law(f)] if isinstance(found, list) else None,
    )


def _leaves(value: Any, path: str = "") -> Iterator[tuple[str, Any]]:
    """Every value of a report with its place; an empty list or mapping is one too."""
    if isinstance(value, dict) and value:
        for key, sub in value.items():
            yield from _leaves(sub, f"{path}.{key}" if path else str(key))
    elif isinstance(value, list) and value:
        for number, sub in enumerate(value):
            yield from _leaves(sub, f"{path}[{number}]")
    else:
        yield path, value


#: what stands where one side has no such value
_NOTHING = "(not told)"


def _compared(
    bundled: dict[str, Any], anew: dict[str, Any]
) -> tuple[int, tuple[Otherwise, ...], tuple[Otherwise, ...]]:
    """How many numbers there are, those that differ, and other values that do."""
    one, two = dict(_leaves(bundled)), dict(_leaves(anew))
    count, numbers, words = 0, list[Otherwise](), list[Otherwise]()
    for path in [*one, *(p for p in two if p not in one)]:
        was, now = one.get(path, _NOTHING), two.get(path, _NOTHING)
        number = _is_number(was) or _is_number(now)
        count += number
        if not _alike(was, now):
            (numbers if number else words).append(Otherwise(path, was, now))
    return count, tuple(numbers), tuple(words)


def _is_number(value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


def _alike(was: Any, now: Any) -> bool:
    if _is_number(was) and _is_number(now):
        try:
            return math.isclose(was, now, rel_tol=ALIKE, abs_tol=1e-12)
        except OverflowError:  # a whole number that no float holds
            return bool(was == now)
    return type(was) is type(now) and bool(was == now)


def _said(value: Any) -> str:
    if value is None:
        return "not known"
    if isinstance(value, bool):
        return "yes" if value else "no"
    return f"{value:.10g}" if isinstance(value, float) else visible(str(value))


def _listed(lines: list[str]) -> list[str]:
    more = len(lines) - _TOLD
    return lines if more <= 0 else [*lines[:_TOLD], f"And {more:,} more (--json tells all)."]
