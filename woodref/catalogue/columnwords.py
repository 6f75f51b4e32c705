"""What every table, view and column of the built catalogue means, for those who read the file itself.

A number has its unit in square brackets at the end, [1] for a plain one.
`tests/catalogue/test_columnwords.py` fails when a column has no words or words have no column.
"""

from __future__ import annotations

from dataclasses import dataclass

from woodref.catalogue.properties import PROPERTIES, wide_column

_WOOD = "Id of the material."
_SOURCE = "Id of the source it is from."
_LOCATOR = "Table, page or row in the source."
_EVIDENCE = (
    "How well it is known: quoted (read in table), recalled (from memory), estimated (worked out) or "
    "common-practice (shop rule)."
)
_LAB = {
    "l_star": "Lightness L* of CIELAB, 0 black to 100 white [1].",
    "a_star": "a* of CIELAB: green below 0, red above [1].",
    "b_star": "b* of CIELAB: blue below 0, yellow above [1].",
}
_KEY = "Number of the row [1]."


@dataclass(frozen=True)
class TableWords:
    """A table or view: title, what a row is, what each column means; facets: columns worth counting; hidden:
    inner tables of the search that nobody reads."""

    title: str
    says: str
    columns: dict[str, str]
    facets: tuple[str, ...] = ()
    hidden: bool = False


_FIGURE = {
    "key": _KEY,
    "material_id": _WOOD,
    "property": "Which property: one of the closed list.",
    "preferred": "1 for the figure that counts, 0 for those shown beside it [1].",
    "value": "The figure in the unit of its row; empty where only a range is known [see unit].",
    "low": "Lower end of the range [see unit].",
    "high": "Upper end of the range [see unit].",
    "typical": "The value, or the middle of the range [see unit].",
    "unit": "Unit of the figure; 1 for a plain number.",
    "printed": "What the source prints, where unit or form was changed.",
    "condition": "Moisture, method and direction it was measured in, as JSON.",
    "source_id": _SOURCE,
    "locator": _LOCATOR,
    "evidence": _EVIDENCE,
    "for_taxon": "The group or genus it was measured on, where not on this very species.",
    "worked_from": "Properties from which it was worked out, as JSON.",
    "added_error": "Error that the rule adds [%].",
    "n": "Number of specimens, where the source says it [1].",
    "note": "What else a reader should know.",
}

_TABLES = {
    "material": TableWords(
        "Materials",
        "One row a wood, engineered veneer, changed wood or core board.",
        {
            "id": "Id, never renamed.",
            "kind": "species, engineered, modified or core.",
            "hardness_group": "hardwood or softwood, in the botanical sense.",
            "name": "The trade name that is printed.",
            "botanical_name": "Accepted botanical name; empty for what is no species.",
            "family": "Botanical family.",
        },
        ("kind", "hardness_group", "family"),
    ),
    "name": TableWords(
        "Names",
        "One row a spelling that answers: ids, botanical names, synonyms and trade names.",
        {
            "key": _KEY,
            "material_id": _WOOD,
            "text": "The name as it is written.",
            "folded": "The name without case, accents and punctuation, as it is compared.",
            "kind": "id, retired, botanical, synonym or trade.",
            "rank": "Order in which kinds of names are tried, 0 first [1].",
            "lang": "Language of a trade name.",
            "regions": "Countries in which the trade uses it, as JSON; an empty list: everywhere.",
            "note": "What else to know about the name.",
        },
        ("kind", "lang"),
    ),
    "shared_name": TableWords(
        "Shared names",
        "One row a meaning of a trade name that several woods share.",
        {
            "key": _KEY,
            "text": "The name as it is written.",
            "folded": "The name without case, accents and punctuation.",
            "material_id": "Id of the material it may mean; empty where that wood is not held.",
            "botanical_name": "Botanical name of the wood it may mean.",
            "usual_in": "Countries in which this is the usual meaning, as JSON; * for everywhere.",
            "note": "How a person tells it from the others.",
        },
    ),
    "source": TableWords(
        "Sources",
        "One row a document, data set, law, standard or rule that is cited.",
        {
            "id": "Id by which figures cite it.",
            "kind": "document, data-set, law, standard or rule.",
            "form": "What a document is: article, book, page or report.",
            "title": "Its title.",
            "by": "Who wrote it.",
            "year": "Year of publication.",
            "publisher": "Who published it.",
            "doi": "Digital object identifier.",
            "licence": "Licence, where one is stated.",
            "seen": "How it was seen for this catalogue.",
            "states": "What it states, or the formula of a rule.",
        },
        ("kind", "seen", "licence"),
    ),
    "figure": TableWords(
        "Figures", "One row a figure of a material, with condition, source and evidence.", _FIGURE,
        ("property", "evidence", "preferred"),
    ),
    "swatch": TableWords(
        "Measured colours",
        "One row a colour that somebody measured.",
        {
            "key": _KEY,
            "material_id": _WOOD,
            "part": "ground, line or sapwood.",
            "state": "planed, oiled, lacquered, aged-in-light, steamed, fumed or dyed.",
            **_LAB,
            "spread": "CIEDE2000 within which about two thirds of pieces lie [1].",
            "light": "Light and observer it was measured under, such as D65/2.",
            "source_id": _SOURCE,
            "locator": _LOCATOR,
            "evidence": _EVIDENCE,
        },
        ("part", "state"),
    ),
    "fact": TableWords(
        "Facts",
        "One row a block of a material file (grows, look, veneer, working ...). What its fields mean: "
        "woodref data fields.",
        {
            "key": _KEY,
            "material_id": _WOOD,
            "block": "Name of the block.",
            "data": "The block as JSON.",
        },
        ("block",),
    ),
    "cut": TableWords(
        "Cuts",
        "One row a way in which a material is cut into veneer.",
        {
            "key": _KEY,
            "material_id": _WOOD,
            "cut": "rotary, crown, quarter, rift, half-round, burr or block-sliced.",
        },
        ("cut",),
    ),
    "law_row": TableWords(
        "Listings",
        "One row a taxon under one regime over one period. Not legal advice: confirm with the authority.",
        {
            "id": "Id of the row.",
            "taxon": "Species, genus or family as the list names it.",
            "accepted": "Its accepted name today.",
            "rank": "species, variety, genus or family.",
            "regime": "CITES, EU, GB, US-ESA ...",
            "category": "Appendix, annex or status.",
            "countries": "Countries whose populations are listed, as JSON; empty for every population.",
            "population_words": "The population in the words of the list.",
            "annotation": "The # note that says which forms are covered.",
            "except_taxa": "Taxa left out of it, as JSON.",
            "parties": "States behind a listing in Appendix III, as JSON.",
            "leaves": "Countries that the goods must leave for the row to count, as JSON.",
            "valid_from": "First day in force, YYYY-MM-DD.",
            "valid_to": "Last day in force, YYYY-MM-DD; empty while it holds.",
            "source_id": _SOURCE,
            "locator": _LOCATOR,
            "evidence": _EVIDENCE,
            "date_evidence": "How well the dates are known: a word of evidence, or not-known.",
            "note": "What else a reader should know.",
        },
        ("regime", "category", "rank"),
    ),
    "law_doc": TableWords(
        "Other law",
        "One row an entry of the law files besides the listings.",
        {"key": _KEY, "file": "The file it stands in.", "data": "The entry as JSON."},
        ("file",),
    ),
    "adhesive": TableWords(
        "Glues",
        "One row a class of glue, never a brand.",
        {"id": "Id of the class.", "name": "The name that is printed.", "data": "Everything else as JSON."},
    ),
    "colour_class": TableWords(
        "Colour classes",
        "One row a coarse colour word, with a colour for drawing a chip: no measurement.",
        {
            "id": "Id of the class.",
            "words": "The colour in words.",
            **_LAB,
            "radius": "CIEDE2000 about the middle within which pieces of the class lie [1].",
            "near": "Ids of the classes next to it, as JSON.",
        },
    ),
    "country": TableWords(
        "Countries",
        "One row a country code.",
        {"code": "ISO 3166-1 code, and GB-NIR.", "name": "The name printed."},
    ),
    "meta": TableWords(
        "About this file",
        "Version, digest, as-of dates, and the orders of words.",
        {"key": "What is told.", "value": "The value, as text or JSON."},
    ),
    "material_wide": TableWords(
        "Materials with their figures",
        "One row a material with every figure that counts; a cell is empty where nothing is known.",
        {
            "id": "Id, never renamed.",
            "kind": "species, engineered, modified or core.",
            "name": "The trade name that is printed.",
            "botanical_name": "Accepted botanical name; empty for what is no species.",
            "family": "Botanical family.",
            **{
                wide_column(name): f"{prop.asks[:1].upper()}{prop.asks[1:]} [{prop.unit}]."
                for name, prop in PROPERTIES.items()
            },
        },
        ("kind", "family"),
    ),
    "figure_full": TableWords(
        "Figures with names and sources",
        "One row a figure, with the name of the material and the title of the source.",
        {
            "material": "Trade name of the material.",
            **_FIGURE,
            "source_title": "Title of the source.",
            "source_year": "Year of the source.",
        },
        ("property", "evidence", "preferred"),
    ),
    "name_search": TableWords(
        "Search of names",
        "Inner table of the search by words of a name.",
        {
            "folded": "The name without case, accents and punctuation.",
            "text": "The name as it is written.",
            "material_id": _WOOD,
        },
        hidden=True,
    ),
}  # fmt: skip

#: inner tables that the search keeps beside name_search
_SHADOWS = ("config", "content", "data", "docsize", "idx")


def table_words() -> dict[str, TableWords]:
    """Every table and view by name."""
    return dict(_TABLES)


def hidden_tables() -> frozenset[str]:
    """Tables that nobody reads: the search and what it keeps."""
    held = {name for name, words in _TABLES.items() if words.hidden}
    return frozenset(held | {f"name_search_{end}" for end in _SHADOWS})
