"""Who bought, supplied and recorded: persons, in a file of their own that the explorer never opens.

The book holds only the random id, so that a person can be erased and the book stays as it is. Erased means
out of the file itself: secure_delete, VACUUM, and the log of the database cut to nothing. A list of erased
ids lies beside the file and is applied at every opening, so that an older copy put back does not bring a
person back.
"""

from __future__ import annotations

import json
import os
import uuid
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from woodref.errors import BadRequest, Candidate
from woodref.provenance.engine import open_engine, told
from woodref.provenance.faults import BadShape, Busy, EventConflict, StorageFault, UnknownParty
from woodref.provenance.personal import personal
from woodref.provenance.places import parties_place, write_private
from woodref.provenance.times import now

if TYPE_CHECKING:
    from sqlalchemy import Connection, Engine

ROLES = ("buyer", "supplier", "recorder")
#: letters of an id that are enough to name a party, where no other begins so
FEWEST = 4
LONGEST = 500


@dataclass(frozen=True)
class Party:
    """erased_at: the day its name and contact were erased, which are None then; hold: the duty for which
    papers about it were kept all the same; links: (item or document, its id)."""

    id: str
    role: str
    name: str | None
    contact: str | None
    consent: str | None
    made: str
    erased_at: str | None
    hold: str | None
    links: tuple[tuple[str, str], ...] = ()

    def as_dict(self) -> dict[str, Any]:
        return {
            "id": self.id, "role": self.role, "name": self.name, "contact": self.contact,
            "consent": self.consent, "made": self.made, "erased_on": self.erased_at, "kept_for": self.hold,
            "links": [{"what": what, "id": target} for what, target in self.links],
        }  # fmt: skip

    def sentences(self) -> list[str]:
        """What a person reads of one party."""
        if self.erased_at:
            out = [f"{self.id}: a {self.role}, erased on {self.erased_at}."]
            if self.hold:
                out.append(f"Papers about them were kept: {self.hold}.")
        else:
            out = [f"{self.id}: {self.name}, {self.role}, since {self.made}."]
            out.append(f"Contact: {self.contact}." if self.contact else "No contact is kept.")
            if self.consent:
                out.append(f"Agreed to: {self.consent}.")
        if self.links:
            out.append("Has to do with " + "; ".join(f"{what} {target}" for what, target in self.links) + ".")
        return out


@dataclass(frozen=True)
class Erased:
    """documents: the papers whose salts went with the party, with the names of their files; held: papers
    about it that stay, since they are kept for a duty told when another party was erased."""

    party: Party
    documents: Mapping[str, str]
    held: Sequence[str] = ()


class Parties:
    """The parties' file, open. Made with mode 600 on first use."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.list_path = path.with_name(path.name + ".erased.json")
        self._make()
        self.engine: Engine = open_engine(f"sqlite:///{path}")
        #: so that no fault of the database ever shows a name
        self.engine.hide_parameters = True
        with _plainly():
            from sqlalchemy import event

            from woodref.provenance.partytables import PartyTable

            @event.listens_for(self.engine, "connect")
            def erasing(connection: Any, _: Any) -> None:
                connection.execute("PRAGMA secure_delete=ON")

            PartyTable.metadata.create_all(self.engine)
            self.tables = dict(PartyTable.metadata.tables)
            self._apply_list()

    def _make(self) -> None:
        try:
            self.path.parent.mkdir(parents=True, exist_ok=True)
            if self.path.exists():
                if self.path.stat().st_mode & 0o077:
                    self.path.chmod(0o600)
                return
            os.close(os.open(self.path, os.O_CREAT | os.O_EXCL | os.O_RDWR, 0o600))
        except OSError as fault:
            raise StorageFault(f"{self.path} cannot be made or kept private ({fault.strerror})") from None

    def close(self) -> None:
        self.engine.dispose()

    def __enter__(self) -> Parties:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    # --- reading

    def _rows(self, sql: str, **values: Any) -> list[Any]:
        from sqlalchemy import text

        with _plainly(), self.engine.connect() as opened:
            connection = opened.execution_options(reads=True)
            rows = list(connection.execute(text(sql), values).all())
            connection.rollback()
            return rows

    def all(self) -> list[Party]:
        """Every party, the longest known first."""
        links: dict[str, list[tuple[str, str]]] = {}
        for party, what, target in self._rows("SELECT party, what, target FROM link ORDER BY what, target"):
            links.setdefault(party, []).append((what, target))
        rows = self._rows(
            "SELECT id, role, name, contact, consent, made, erased_at, hold FROM party ORDER BY made, id"
        )
        return [replace(Party(*row), links=tuple(links.get(row[0], ()))) for row in rows]

    def one(self, words: str) -> Party:
        """The party of an id, or of its first letters where no other begins so; UnknownParty otherwise,
        without what was asked, which may be a name."""
        found = [p for p in self.all() if p.id == words]
        if not found and len(words) >= FEWEST:
            found = [p for p in self.all() if p.id.startswith(words)]
        if len(found) == 1:
            return found[0]
        if found:
            raise UnknownParty(
                "several parties begin so", expected="more letters of the id",
                candidates=[Candidate(p.id, p.role) for p in found],
            )  # fmt: skip
        raise UnknownParty(
            "there is no such party", expected=f"an id, or at least {FEWEST} letters from its start",
            next="See woodref book party list.",
        )  # fmt: skip

    def present(self, words: str) -> Party:
        """As `one`, but UnknownParty for one that was erased."""
        party = self.one(words)
        if party.erased_at:
            raise UnknownParty(f"this party was erased on {party.erased_at}", next="Name another.")
        return party

    def salts(self) -> dict[str, tuple[str | None, str | None]]:
        """Document -> (salt in hex, the day it was erased)."""
        return {row[0]: (row[1], row[2]) for row in self._rows("SELECT document, salt, erased_at FROM salt")}

    # --- writing

    def add(self, role: str, name: str, contact: Sequence[str] = (), consent: str | None = None) -> Party:
        """A new party under a random id."""
        if role not in ROLES:
            raise BadRequest("the role is not known", where="--role", expected=", ".join(ROLES))
        said = {"--name": name, "--contact": "; ".join(contact), "--consent": consent or ""}
        for option, value in said.items():
            if len(value) > LONGEST or not value.isprintable():
                raise BadShape(
                    "is too long, or holds signs that cannot be printed", where=option,
                    expected=f"one line of up to {LONGEST} letters",
                )  # fmt: skip
        if not name.strip():
            raise BadRequest("a party needs a name", where="--name")
        row: dict[str, Any] = {
            "id": str(uuid.uuid4()), "role": role, "name": name.strip(),
            "contact": said["--contact"] or None, "consent": consent, "made": now().utc[:10],
            "erased_at": None, "hold": None,
        }  # fmt: skip
        with _plainly(), self.engine.begin() as connection:
            connection.execute(self.tables["party"].insert(), row)
        return Party(**row)

    def link(self, party: Party, what: str, target: str) -> None:
        """A party has to do with an item or document; nothing where that is known. what: item, document."""
        if (what, target) in party.links:
            return
        with _plainly(), self.engine.begin() as connection:
            connection.execute(
                self.tables["link"].insert(), {"party": party.id, "what": what, "target": target}
            )

    def unlink(self, party: Party, what: str, target: str) -> None:
        """Takes a link back, such as when what it was made for was refused."""
        self._write(
            "DELETE FROM link WHERE party = :p AND what = :w AND target = :t", p=party.id, w=what, t=target
        )

    def salt(self, document: str, file_name: str, salt: bytes) -> None:
        """Keep the salt of a private document; EventConflict where one of this id is known."""
        if document in self.salts():
            raise EventConflict(
                f"a private paper {document} is known already", next="Give this one another --id."
            )
        with _plainly(), self.engine.begin() as connection:
            connection.execute(
                self.tables["salt"].insert(),
                {"document": document, "file": file_name, "salt": salt.hex(), "erased_at": None},
            )

    def forget_salt(self, document: str) -> None:
        """Drop the salt of a document that was not recorded after all."""
        self._write("DELETE FROM salt WHERE document = :d", d=document)

    def _write(self, sql: str, **values: Any) -> None:
        from sqlalchemy import text

        with _plainly(), self.engine.begin() as connection:
            connection.execute(text(sql), values)

    # --- erasing

    def erase(self, party: Party, hold: str | None = None) -> Erased:
        """Name, contact and consent of a party go for good, and the salts of the private papers linked to
        it. hold: the duty of law for which those papers are kept all the same."""
        if hold is not None and personal(hold):
            raise BadShape(f"holds {personal(hold)}", where="--keep-papers", expected="the duty in words")
        day = now().utc[:10]
        about = [target for what, target in party.links if what == "document"]
        kept = {
            t for p in self.all() if p.hold and p.id != party.id for what, t in p.links if what == "document"
        }
        papers = [] if hold else [name for name in about if name not in kept]
        rows = self._rows("SELECT document, file, salt FROM salt")
        private = {name: file for name, file, salt in rows if name in papers and salt is not None}
        known = self.erasures()
        self._write_list(
            {**known["parties"], party.id: known["parties"].get(party.id, day)},
            {**known["documents"], **{name: day for name in private}},
        )
        if hold:
            self._write("UPDATE party SET hold = :hold WHERE id = :id", hold=hold, id=party.id)
        with _plainly():
            self._apply_list(again=True)
        return Erased(self.one(party.id), private, () if hold else [name for name in about if name in kept])

    def erasures(self) -> dict[str, dict[str, str]]:
        """The list of erased ids: {parties: {id: day}, documents: {id: day}}."""
        return read_erasures(self.list_path)

    def merge_erasures(self, other: Path) -> None:
        """Take over the ids of another list, such as that of a backup, and apply them."""
        mine, theirs = self.erasures(), read_erasures(other)
        self._write_list(
            {**theirs["parties"], **mine["parties"]}, {**theirs["documents"], **mine["documents"]}
        )
        with _plainly():
            self._apply_list()

    def _write_list(self, parties: Mapping[str, str], documents: Mapping[str, str]) -> None:
        body = {"parties": dict(sorted(parties.items())), "documents": dict(sorted(documents.items()))}
        write_private(self.list_path, json.dumps(body, indent=1).encode())

    def _apply_list(self, again: bool = False) -> None:
        """Erase what the list names and is still there. again: sweep the file even where nothing is, since an
        earlier sweep may have been kept from it."""
        from sqlalchemy import text

        listed, changed = self.erasures(), again
        with self.engine.begin() as connection:
            for name, day in listed["parties"].items():
                changed |= _null(connection, text(_ERASE_PARTY), name, day)
            for name, day in listed["documents"].items():
                changed |= _null(connection, text(_ERASE_SALT), name, day)
        if changed:
            self._sweep()

    def _sweep(self) -> None:
        """Nothing of what was deleted stays in the file or its log. Busy while another program has it open:
        the erasure stands, and is swept when it is asked again."""
        import sqlite3

        raw = self.engine.raw_connection()
        busy = True
        try:
            cursor = raw.cursor()
            cursor.execute("VACUUM")
            cursor.execute("PRAGMA wal_checkpoint(TRUNCATE)")
            busy = bool((cursor.fetchone() or (0,))[0])
            cursor.close()
        except sqlite3.OperationalError as fault:
            if "BUSY" not in fault.sqlite_errorname and "LOCKED" not in fault.sqlite_errorname:
                raise told(fault) from None
        finally:
            raw.close()
        if busy:
            raise Busy(
                "the parties' file is open in another program: what was erased may still be in its log",
                next="Close that program and erase again: it is safe to say it twice.",
            )


_ERASE_PARTY = (
    "UPDATE party SET name = NULL, contact = NULL, consent = NULL, erased_at = :day WHERE id = :id AND "
    "(erased_at IS NULL OR name IS NOT NULL OR contact IS NOT NULL OR consent IS NOT NULL)"
)
_ERASE_SALT = (
    "UPDATE salt SET salt = NULL, erased_at = :day WHERE document = :id AND "
    "(erased_at IS NULL OR salt IS NOT NULL)"
)


def _null(connection: Connection, statement: Any, name: str, day: str) -> bool:
    return connection.execute(statement, {"id": name, "day": day}).rowcount > 0


def read_erasures(path: Path) -> dict[str, dict[str, str]]:
    """A list of erased ids; empty where there is none. StorageFault when it cannot be read: a list that is
    lost must not bring anybody back."""
    if not path.exists():
        return {"parties": {}, "documents": {}}
    try:
        told_ = json.loads(path.read_text("utf-8"))
        return {key: {str(k): str(v) for k, v in told_[key].items()} for key in ("parties", "documents")}
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        raise StorageFault(
            f"the list of erased parties at {path} cannot be read",
            next="Put it back from a backup's folder before the parties are opened.",
        ) from None


@contextmanager
def _plainly() -> Iterator[None]:
    """Faults of the database in plain words, without what was to be written."""
    from sqlalchemy.exc import DBAPIError

    try:
        yield
    except DBAPIError as fault:
        raise told(fault) from None


def open_parties(given: str | Path | None = None, must_be: bool = False) -> Parties:
    """The parties at a path, WOODREF_PARTIES, or in the user's data folder. must_be: StorageFault where there
    are none yet, instead of making them."""
    path = parties_place(given)
    if must_be and not path.exists():
        raise StorageFault(f"there are no parties at {path}", next="Add one: woodref book party add")
    return Parties(path)
