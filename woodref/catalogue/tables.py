"""The tables and views of the built catalogue. Only `build` writes them, only `reader` reads them."""

from __future__ import annotations

from sqlmodel import Field, SQLModel

from woodref.catalogue.properties import PROPERTIES, wide_column


class MaterialRow(SQLModel, table=True):
    __tablename__ = "material"
    id: str = Field(primary_key=True)
    kind: str = Field(index=True)
    hardness_group: str
    name: str
    botanical_name: str | None = Field(default=None, index=True)
    family: str | None = None


class NameRow(SQLModel, table=True):
    """Every spelling that answers; rank is the order in which kinds of names are tried."""

    __tablename__ = "name"
    key: int | None = Field(default=None, primary_key=True)
    material_id: str = Field(foreign_key="material.id", index=True)
    text: str
    folded: str = Field(index=True)
    kind: str
    rank: int
    lang: str | None = None
    regions: str | None = None
    note: str | None = None


class SharedNameRow(SQLModel, table=True):
    """One meaning of a name that several woods share."""

    __tablename__ = "shared_name"
    key: int | None = Field(default=None, primary_key=True)
    text: str
    folded: str = Field(index=True)
    material_id: str | None = Field(default=None, foreign_key="material.id")
    botanical_name: str | None = None
    usual_in: str
    note: str


class SourceRow(SQLModel, table=True):
    __tablename__ = "source"
    id: str = Field(primary_key=True)
    kind: str
    form: str | None = None
    title: str
    by: str | None = None
    year: str | None = None
    publisher: str | None = None
    doi: str | None = None
    licence: str | None = None
    seen: str
    states: str | None = None


class FigureRow(SQLModel, table=True):
    """One figure in the property's own unit; preferred is 1 for the one that counts."""

    __tablename__ = "figure"
    key: int | None = Field(default=None, primary_key=True)
    material_id: str = Field(foreign_key="material.id", index=True)
    property: str = Field(index=True)
    preferred: int
    value: float | None = None
    low: float | None = None
    high: float | None = None
    typical: float
    unit: str
    printed: str | None = None
    condition: str
    source_id: str | None = Field(default=None, foreign_key="source.id", index=True)
    locator: str | None = None
    evidence: str = Field(index=True)
    for_taxon: str | None = None
    worked_from: str | None = None
    added_error: float | None = None
    n: int | None = None
    note: str | None = None


class SwatchRow(SQLModel, table=True):
    __tablename__ = "swatch"
    key: int | None = Field(default=None, primary_key=True)
    material_id: str = Field(foreign_key="material.id", index=True)
    part: str
    state: str
    l_star: float
    a_star: float
    b_star: float
    spread: float | None = None
    light: str
    source_id: str | None = None
    locator: str | None = None
    evidence: str


class FactRow(SQLModel, table=True):
    """One block of a material file (grows, look, veneer, working ...) as JSON."""

    __tablename__ = "fact"
    key: int | None = Field(default=None, primary_key=True)
    material_id: str = Field(foreign_key="material.id", index=True)
    block: str = Field(index=True)
    data: str


class CutRow(SQLModel, table=True):
    __tablename__ = "cut"
    key: int | None = Field(default=None, primary_key=True)
    material_id: str = Field(foreign_key="material.id", index=True)
    cut: str = Field(index=True)


class LawRow(SQLModel, table=True):
    """One listing. countries: JSON list of ISO codes, or NULL for every population."""

    __tablename__ = "law_row"
    id: str = Field(primary_key=True)
    taxon: str
    accepted: str = Field(index=True)
    rank: str
    regime: str
    category: str
    countries: str | None = None
    population_words: str
    annotation: str | None = None
    except_taxa: str
    parties: str
    leaves: str
    valid_from: str | None = None
    valid_to: str | None = None
    source_id: str | None = None
    locator: str | None = None
    evidence: str
    date_evidence: str
    note: str | None = None


class LawDocRow(SQLModel, table=True):
    """One row of the law files besides the listings, as JSON; file says which."""

    __tablename__ = "law_doc"
    key: int | None = Field(default=None, primary_key=True)
    file: str = Field(index=True)
    data: str


class AdhesiveRow(SQLModel, table=True):
    """One class of glue: its names and everything else as JSON."""

    __tablename__ = "adhesive"
    id: str = Field(primary_key=True)
    name: str
    data: str


class ColourClassRow(SQLModel, table=True):
    __tablename__ = "colour_class"
    id: str = Field(primary_key=True)
    words: str
    l_star: float
    a_star: float
    b_star: float
    radius: float
    near: str


class CountryRow(SQLModel, table=True):
    __tablename__ = "country"
    code: str = Field(primary_key=True)
    name: str


class MetaRow(SQLModel, table=True):
    """Facts about the file itself: version, digest, as-of dates, class orders."""

    __tablename__ = "meta"
    key: str = Field(primary_key=True)
    value: str


TABLES = (
    MaterialRow, NameRow, SharedNameRow, SourceRow, FigureRow, SwatchRow, FactRow, CutRow, LawRow, LawDocRow,
    AdhesiveRow, ColourClassRow, CountryRow, MetaRow,
)  # fmt: skip


def views() -> list[str]:
    """The SQL of the views; property names come from the closed list, never from a user."""
    columns = ",\n  ".join(
        f"max(CASE WHEN f.property = '{name}' THEN f.typical END) AS {wide_column(name)}"
        for name in PROPERTIES
    )
    return [
        f"""CREATE VIEW material_wide AS
SELECT m.id, m.kind, m.name, m.botanical_name, m.family,
  {columns}
FROM material m LEFT JOIN figure f ON f.material_id = m.id AND f.preferred = 1
GROUP BY m.id""",
        """CREATE VIEW figure_full AS
SELECT m.name AS material, f.*, s.title AS source_title, s.year AS source_year
FROM figure f JOIN material m ON m.id = f.material_id LEFT JOIN source s ON s.id = f.source_id""",
        """CREATE VIRTUAL TABLE name_search USING fts5(
  folded, text UNINDEXED, material_id UNINDEXED, tokenize = 'unicode61 remove_diacritics 2')""",
        "INSERT INTO name_search (folded, text, material_id) SELECT folded, text, material_id FROM name",
    ]
