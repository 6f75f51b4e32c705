"""The tables of a book. The truth is `event`; every other table is worked out from it.

Whole numbers and text only, in both dialects: STRICT tables on SQLite, BIGINT on PostgreSQL.
"""

from __future__ import annotations

from typing import ClassVar

from sqlalchemy import BigInteger, CheckConstraint, Column, ForeignKey, Index, Integer, MetaData, Text
from sqlmodel import Field, SQLModel

#: of the shape of these tables; a later version opens every earlier one
SCHEMA_VERSION = "1"
STRICT = {"sqlite_strict": True}


def _big(primary: bool = False, null: bool = False, check: str | None = None) -> Column[int]:
    kind = BigInteger().with_variant(Integer, "sqlite")
    more = [CheckConstraint(check)] if check else []
    return Column(kind, *more, primary_key=primary, nullable=null and not primary, autoincrement=False)


def _text(
    primary: bool = False, null: bool = False, to: str | None = None, unique: bool = False
) -> Column[str]:
    more = [ForeignKey(to)] if to else []
    return Column(Text, *more, primary_key=primary, nullable=null and not primary, unique=unique or None)


class BookTable(SQLModel):
    """Base of the book's tables: their own metadata, apart from the catalogue's."""

    metadata: ClassVar[MetaData] = MetaData()


class MetaRow(BookTable, table=True):
    """schema: version of these tables; book: random id of this book."""

    __tablename__ = "meta"
    __table_args__ = (STRICT,)
    key: str = Field(sa_column=_text(primary=True))
    value: str = Field(sa_column=_text())


class HeadRow(BookTable, table=True):
    """The one row that a writer locks: number and hash of the last event."""

    __tablename__ = "head"
    __table_args__ = (STRICT,)
    one: int = Field(sa_column=_big(primary=True, check="one = 1"))
    seq: int = Field(sa_column=_big())
    hash: str = Field(sa_column=_text())


class EventRow(BookTable, table=True):
    """payload: canonical JSON, the very bytes that hash is over; content: hash of it without who and when."""

    __tablename__ = "event"
    __table_args__ = (Index("event_kind", "kind"), Index("event_corrects", "corrects"), STRICT)
    seq: int = Field(sa_column=_big(primary=True))
    id: str = Field(sa_column=_text(unique=True))
    kind: str = Field(sa_column=_text())
    at: str = Field(sa_column=_text())
    corrects: str | None = Field(sa_column=_text(null=True))
    content: str = Field(sa_column=_text())
    payload: str = Field(sa_column=_text())
    before: str = Field(sa_column=_text())
    hash: str = Field(sa_column=_text())


class LotRow(BookTable, table=True):
    __tablename__ = "lot"
    __table_args__ = (STRICT,)
    id: str = Field(sa_column=_text(primary=True))
    made_by: str = Field(sa_column=_text())
    made: str = Field(sa_column=_text())
    form: str = Field(sa_column=_text())
    unit: str = Field(sa_column=_text())
    facts: str = Field(sa_column=_text())


class BalanceRow(BookTable, table=True):
    """What is on hand and reserved of a lot, and when it last moved."""

    __tablename__ = "balance"
    __table_args__ = (STRICT,)
    lot: str = Field(sa_column=_text(primary=True))
    qty: int = Field(sa_column=_big(check="qty >= 0"))
    reserved: int = Field(sa_column=_big(check="reserved >= 0"))
    last: str = Field(sa_column=_text())


class MoveRow(BookTable, table=True):
    __tablename__ = "move"
    __table_args__ = (Index("move_lot", "lot", "at"), STRICT)
    seq: int = Field(sa_column=_big(primary=True))
    n: int = Field(sa_column=_big(primary=True))
    lot: str = Field(sa_column=_text())
    qty: int = Field(sa_column=_big())
    role: str = Field(sa_column=_text())
    plies: int = Field(sa_column=_big())
    at: str = Field(sa_column=_text())


class UseRow(BookTable, table=True):
    """An event draws on a lot."""

    __tablename__ = "use"
    __table_args__ = (STRICT,)
    lot: str = Field(sa_column=_text(primary=True))
    seq: int = Field(sa_column=_big(primary=True))
    event: str = Field(sa_column=_text())


class EdgeRow(BookTable, table=True):
    """child is made of parent: net and gross amounts of it in one unit of the child, as fractions."""

    __tablename__ = "edge"
    __table_args__ = (Index("edge_parent", "parent", "child"), STRICT)
    child: str = Field(sa_column=_text(primary=True))
    parent: str = Field(sa_column=_text(primary=True))
    n: int = Field(sa_column=_big(primary=True))
    event: str = Field(sa_column=_text())
    net_num: int = Field(sa_column=_big())
    net_den: int = Field(sa_column=_big())
    gross_num: int = Field(sa_column=_big())
    gross_den: int = Field(sa_column=_big())
    plies: int = Field(sa_column=_big())


class ItemRow(BookTable, table=True):
    __tablename__ = "item"
    __table_args__ = (STRICT,)
    id: str = Field(sa_column=_text(primary=True))
    state: str = Field(sa_column=_text())
    made_by: str = Field(sa_column=_text())
    closed_by: str | None = Field(sa_column=_text(null=True))
    label: str | None = Field(sa_column=_text(null=True))
    serial: str | None = Field(sa_column=_text(null=True))


class ReservationRow(BookTable, table=True):
    __tablename__ = "reservation"
    __table_args__ = (STRICT,)
    id: str = Field(sa_column=_text(primary=True))
    lot: str = Field(sa_column=_text())
    qty: int = Field(sa_column=_big())
    until: str | None = Field(sa_column=_text(null=True))


class PaperRow(BookTable, table=True):
    __tablename__ = "paper"
    __table_args__ = (Index("paper_sha", "sha256"), STRICT)
    id: str = Field(sa_column=_text(primary=True))
    kind: str = Field(sa_column=_text())
    sha256: str | None = Field(sa_column=_text(null=True))
    event: str = Field(sa_column=_text())
    recorded: str = Field(sa_column=_text())
    told: str = Field(sa_column=_text())


class PaperLotRow(BookTable, table=True):
    __tablename__ = "paper_lot"
    __table_args__ = (STRICT,)
    lot: str = Field(sa_column=_text(primary=True))
    paper: str = Field(sa_column=_text(primary=True, to="paper.id"))


class DepositRow(BookTable, table=True):
    """A dated, signed head: proof against a book that is written anew."""

    __tablename__ = "deposit"
    __table_args__ = (STRICT,)
    seq: int = Field(sa_column=_big(primary=True))
    at: str = Field(sa_column=_text(primary=True))
    hash: str = Field(sa_column=_text())
    public_key: str = Field(sa_column=_text())
    signature: str = Field(sa_column=_text())


class SheetRow(BookTable, table=True):
    """A customer sheet as it was given out: older versions stay. payload: what is signed; files: name ->
    text of every file beside it."""

    __tablename__ = "sheet"
    __table_args__ = (STRICT,)
    item: str = Field(sa_column=_text(primary=True))
    version: int = Field(sa_column=_big(primary=True))
    made: str = Field(sa_column=_text())
    seq: int = Field(sa_column=_big())
    payload: str = Field(sa_column=_text())
    signature: str = Field(sa_column=_text())
    files: str = Field(sa_column=_text())
    files_signature: str = Field(sa_column=_text())
    public_key: str = Field(sa_column=_text())


#: tables that nothing is ever changed or taken out of
APPEND_ONLY = ("event", "move", "deposit", "sheet")
#: tables worked out from the events, whose rows change with them
WORKED_OUT = ("lot", "balance", "use", "edge", "item", "reservation", "paper_lot", "paper")
