"""The sources for a bibliography program: BibTeX, and JSON in the form of CSL 1.0.

Rules of ours are left out of both: they are no documents that a reader could look up. Whoever uses a
figure worked out by one cites the catalogue. Titles often say more than the printed title (the journal,
the pages read): they are given as they stand, so an article has no journal field of its own.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Any

Source = dict[str, Any]

#: kind of source -> type in CSL; a document's form decides first
_CSL_KINDS = {"data-set": "dataset", "law": "legislation", "standard": "standard"}
_CSL_FORMS = {"article": "article-journal", "book": "book", "page": "webpage", "report": "report"}
#: what TeX reads as a command; a brace is named, because BibTeX counts braces even behind a backslash
_TEX = {
    "\\": r"\textbackslash{}", "{": r"\textbraceleft{}", "}": r"\textbraceright{}",
    "~": r"\textasciitilde{}", "^": r"\textasciicircum{}",
    "&": r"\&", "%": r"\%", "$": r"\$", "#": r"\#", "_": r"\_",
}  # fmt: skip


def printable(sources: Iterable[Source]) -> list[Source]:
    """Those that belong into a bibliography: all but rules."""
    return [source for source in sources if source["kind"] != "rule"]


def _form(source: Source) -> str:
    """What a document is: as its entry says, else a paper when it has a DOI, else a report."""
    return str(source.get("form") or ("article" if source["doi"] else "report"))


def csl(sources: Iterable[Source]) -> list[dict[str, Any]]:
    """One item a source, id the source's own; keys only where something is known."""
    return [_csl_item(source) for source in printable(sources)]


def _csl_item(source: Source) -> dict[str, Any]:
    item: dict[str, Any] = {
        "id": source["id"],
        "type": _CSL_KINDS.get(source["kind"]) or _CSL_FORMS[_form(source)],
        "title": source["title"],
    }
    if source["by"]:  # a body, or names in one string: not to be taken apart
        item["author"] = [{"literal": source["by"]}]
    if source["year"]:
        item["issued"] = {"date-parts": [[int(source["year"])]]}
    if source["publisher"]:
        item["publisher"] = source["publisher"]
    if source["doi"]:
        item["DOI"] = source["doi"]
    item["note"] = _remark(source)
    return item


def _remark(source: Source) -> str:
    """How it was seen, and under which licence."""
    licence = f"Licence: {source['licence']}. " if source["licence"] else ""
    return f"{licence}Seen: {source['seen']}."


def tex(text: str) -> str:
    """Text that TeX prints as it stands; real letters stay (UTF-8), line ends become spaces."""
    plain = " ".join(text.split())
    return "".join(_TEX.get(letter, letter) for letter in plain)


def bibtex(sources: Iterable[Source]) -> str:
    """One entry a source, key the source's own id; text in UTF-8.

    Only entry types and fields that every style knows; what a style would miss in @techreport or @book
    makes an entry @misc. Title and author stand in double braces: no style changes their letters or takes a
    body's name apart.
    """
    return "\n".join(_entry(source) for source in printable(sources))


def _entry(source: Source) -> str:
    fields = {
        "author": f"{{{tex(source['by'])}}}" if source["by"] else "",
        "title": f"{{{tex(source['title'])}}}",
        "year": source["year"] or "",
        "publisher": tex(source["publisher"] or ""),
        # taken letter by letter by styles that print it: a brace would end the field
        "doi": re.sub(r"[{}\s]", lambda m: f"%{ord(m.group()):02X}", source["doi"] or ""),
        "annote": tex(_remark(source)),
    }
    kind = _entry_type(source)
    if kind != "book":
        house = "institution" if kind == "techreport" else "howpublished"
        fields = {house if key == "publisher" else key: text for key, text in fields.items()}
    body = "".join(f"  {key} = {{{text}}},\n" for key, text in fields.items() if text)
    return f"@{kind}{{{source['id']},\n{body}}}\n"


def _entry_type(source: Source) -> str:
    """techreport and book where all is known that they demand, else misc."""
    if source["kind"] != "document" or not (source["by"] and source["year"] and source["publisher"]):
        return "misc"
    return {"report": "techreport", "book": "book"}.get(_form(source), "misc")
