"""The tables of the catalogue as Datasette shows them: which, what each column means, how many rows."""

from __future__ import annotations

from functools import cache
from pathlib import Path

#: name under which the catalogue's tables are served
DATABASE = "catalogue"
#: seconds that a question in SQL may take
PATIENCE = 3
#: endings of a path that lead somewhere; jsono is an older name of json, sent on to it
FORMS = ("", "json", "jsono", "csv", "db")
_here: dict[str, Path] = {}


def served(path: Path) -> None:
    """Remember which file is served, for questions about its columns."""
    _here["path"] = path
    columns_of.cache_clear()


@cache
def columns_of(table: str) -> frozenset[str] | None:
    """Columns of a table or view that is shown; None when there is none of that name."""
    import sqlite3

    from woodref.catalogue.columnwords import hidden_tables, table_words

    if "path" not in _here or table not in table_words() or table in hidden_tables():
        return None
    connection = sqlite3.connect(f"file:{_here['path']}?mode=ro", uri=True)
    try:
        rows = connection.execute("SELECT name FROM pragma_table_info(?)", (table,)).fetchall()
    finally:
        connection.close()
    return frozenset(name for (name,) in rows) or None


#: questions to begin with: name, title, what it answers, SQL
EXAMPLES = (
    (
        "light_and_stiff",
        "Light and stiff for their weight",
        "Stiffness in bending over weight, the best first; only figures read in a table.",
        "SELECT m.id, m.name, d.typical AS density_kg_m3, e.typical AS moe_gpa,\n"
        "  round(1000 * e.typical / d.typical, 1) AS moe_over_density\n"
        "FROM material m\n"
        "JOIN figure d ON d.material_id = m.id AND d.property = 'density' AND d.preferred = 1\n"
        "JOIN figure e ON e.material_id = m.id AND e.property = 'moe' AND e.preferred = 1\n"
        "WHERE d.evidence = 'quoted' AND e.evidence = 'quoted'\n"
        "ORDER BY moe_over_density DESC LIMIT 40",
    ),
    (
        "still_leaves",
        "Leaves that move little",
        "Shrinkage from green to oven-dry along the rings, the least first.",
        "SELECT id, name, shrinkage_tangential_pct, shrinkage_radial_pct,\n"
        "  round(shrinkage_tangential_pct / shrinkage_radial_pct, 2) AS tangential_over_radial\n"
        "FROM material_wide WHERE shrinkage_tangential_pct IS NOT NULL\n"
        "ORDER BY shrinkage_tangential_pct LIMIT 40",
    ),
    (
        "two_readings",
        "Figures on which sources differ",
        "Weights of one wood in the same unit from more than one source, the widest apart first.",
        "SELECT material, count(*) AS figures, min(typical) AS least, max(typical) AS most,\n"
        "  round(100.0 * (max(typical) - min(typical)) / min(typical)) AS apart_pct\n"
        "FROM figure_full WHERE property = 'density'\n"
        "GROUP BY material_id HAVING count(DISTINCT source_id) > 1\n"
        "ORDER BY apart_pct DESC LIMIT 40",
    ),
    (
        "what_a_source_gives",
        "What a source gives",
        "How many figures rest on each source, and of how many woods.",
        "SELECT s.id, s.title, count(*) AS figures, count(DISTINCT f.material_id) AS woods\n"
        "FROM figure f JOIN source s ON s.id = f.source_id\n"
        "GROUP BY s.id ORDER BY figures DESC LIMIT 60",
    ),
    (
        "listings_of_a_taxon",
        "Listings of a taxon",
        "Every row of the law for names that begin so, ended ones too; the beginning stands below it.",
        "SELECT taxon, regime, category, population_words, annotation, valid_from, valid_to, evidence\n"
        "FROM law_row WHERE accepted LIKE :name_begins || '%'\n"
        "ORDER BY taxon, regime, valid_from",
    ),
)


def metadata() -> dict[str, object]:
    """Titles, descriptions with units, counts and examples, as the table pages want them."""
    from woodref.catalogue.columnwords import hidden_tables, table_words

    tables: dict[str, object] = {name: {"hidden": True} for name in hidden_tables()}
    for name, words in table_words().items():
        tables[name] = {
            "title": words.title, "description": words.says, "columns": words.columns,
            "facets": list(words.facets), "hidden": words.hidden,
        }  # fmt: skip
    queries = {name: {"title": title, "description": says, "sql": sql} for name, title, says, sql in EXAMPLES}
    queries["listings_of_a_taxon"]["params"] = ["name_begins"]  # type: ignore[assignment]
    return {
        "title": "woodref",
        "databases": {
            DATABASE: {
                "title": "The catalogue's tables",
                "description": "The built catalogue as it is: filter, sort, count, take away, or ask in SQL. "
                "Figures that count have preferred 1; what each column means stands with its table.",
                "tables": tables, "queries": queries,
            }
        },
    }  # fmt: skip
