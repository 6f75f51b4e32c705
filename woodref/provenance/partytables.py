"""The tables of the parties' own file. Imported by `parties` when it opens one."""

from __future__ import annotations

from typing import ClassVar

from sqlalchemy import Column, MetaData, Text
from sqlmodel import Field, SQLModel

STRICT = {"sqlite_strict": True}


def _text(primary: bool = False, null: bool = False) -> Column[str]:
    return Column(Text, primary_key=primary, nullable=null and not primary)


class PartyTable(SQLModel):
    """Base of the parties' tables: their own metadata, so that they never land in a book."""

    metadata: ClassVar[MetaData] = MetaData()


class PartyRow(PartyTable, table=True):
    """Who somebody is. name, contact, consent: null once erased; hold: the duty that papers were kept for."""

    __tablename__ = "party"
    __table_args__ = (STRICT,)
    id: str = Field(sa_column=_text(primary=True))
    role: str = Field(sa_column=_text())
    name: str | None = Field(sa_column=_text(null=True))
    contact: str | None = Field(sa_column=_text(null=True))
    consent: str | None = Field(sa_column=_text(null=True))
    made: str = Field(sa_column=_text())
    erased_at: str | None = Field(sa_column=_text(null=True))
    hold: str | None = Field(sa_column=_text(null=True))


class LinkRow(PartyTable, table=True):
    """A party has to do with an item or a document of the book."""

    __tablename__ = "link"
    __table_args__ = (STRICT,)
    party: str = Field(sa_column=_text(primary=True))
    what: str = Field(sa_column=_text(primary=True))
    target: str = Field(sa_column=_text(primary=True))


class SaltRow(PartyTable, table=True):
    """What the hash of a private document was salted with, and the name of its file in the document store.
    Without the salt the hash in the book says nothing of the file."""

    __tablename__ = "salt"
    __table_args__ = (STRICT,)
    document: str = Field(sa_column=_text(primary=True))
    file: str = Field(sa_column=_text())
    salt: str | None = Field(sa_column=_text(null=True))
    erased_at: str | None = Field(sa_column=_text(null=True))
