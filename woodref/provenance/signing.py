"""Which key a book signs with, how it follows another, and dated heads signed with it.

A key is said in the book by an event. One that follows another is signed by that one; where the old key is
lost, the event says so, and what was signed before stays as good as it was. A deposit is a signed head that
is given out of the house: who holds it can show later that the book was not written anew.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from woodref.files import bytes_of
from woodref.provenance import keys
from woodref.provenance.bookname import book_name
from woodref.provenance.faults import BadKey, BadState
from woodref.provenance.receiving import named_by_content
from woodref.provenance.rows import event_from
from woodref.provenance.special import FOLLOWS
from woodref.provenance.store import Store
from woodref.provenance.times import now

#: purpose of a signed head
HEAD = "head 1"


@dataclass(frozen=True)
class Said:
    """A key as an event says it. what: first, replaced or lost (the one before it)."""

    public_key: str
    what: str
    since: str
    event: str

    @property
    def fingerprint(self) -> str:
        return keys.fingerprint(self.public_key)


def keys_of(store: Store) -> list[Said]:
    """Every key of a book, the one in use last."""
    rows = store.rows("SELECT payload FROM event WHERE kind = 'key' ORDER BY seq")
    events = [event_from(payload) for (payload,) in rows]
    return [Said(e.more["public_key"], e.more["what"], e.at.local, e.id) for e in events]


def signer_of(store: Store, path: Path) -> tuple[keys.Signer, bool]:
    """The key that a book signs with, and whether it was made or first said just now.

    BadKey when the book has another key than the file.
    """
    said = keys_of(store)
    signer = _at_hand(path, said[-1].public_key if said else None)
    if said:
        if signer is None:
            raise BadKey(
                f"this book signs with key {said[-1].fingerprint}, and there is no key at {path}",
                next="Put the key file back or name it with --key-file; if it is lost: "
                "woodref book key replace --lost",
            )  # fmt: skip
        if signer.public_key != said[-1].public_key:
            raise BadKey(
                f"this book signs with key {said[-1].fingerprint}; the key at {path} is {signer.fingerprint}",
                next="Name the right key file, or: woodref book key replace",
            )  # fmt: skip
        return signer, False
    signer = signer or keys.new_signer(path)
    _record(store, {"public_key": signer.public_key, "what": "first"})
    return signer, True


def _at_hand(path: Path, wanted: str | None) -> keys.Signer | None:
    """The key in its file; a replacement that was said in the book and broken off before its file was moved
    is moved now."""
    waiting = path.with_name(path.name + keys.NEXT)
    following = keys.read_signer(waiting)
    if following is not None and following.public_key == wanted:
        _moved(path, waiting)
    return keys.read_signer(path)


def _moved(path: Path, waiting: Path) -> None:
    old = keys.read_signer(path)
    if old is not None:
        path.rename(path.with_name(f"{path.name}.{old.fingerprint.replace(' ', '')[:8]}{keys.RETIRED}"))
    waiting.rename(path)


def _no_key() -> BadKey:
    return BadKey("this book has no key yet", next="It is made with the first deposit or sheet.")


def in_use(store: Store, path: Path, private: bool) -> tuple[keys.Signer | None, Said]:
    """The key in use; private: with its private half, which has to be at hand. BadKey when there is
    none yet."""
    said = keys_of(store)
    if not said:
        raise _no_key()
    return (signer_of(store, path)[0] if private else None), said[-1]


def replace_key(store: Store, path: Path, lost: bool = False, note: str | None = None) -> tuple[Said, Said]:
    """(the key before, the key from now on). lost: the old private key is gone or may be in other hands, so
    that it cannot sign the new one.

    BadKey when there is no key yet, or the old one is not at hand and not said to be lost.
    """
    said = keys_of(store)
    if not said:
        raise _no_key()
    waiting = path.with_name(path.name + keys.NEXT)
    old = None if lost else signer_of(store, path)[0]
    waiting.unlink(missing_ok=True)  # one that was broken off before the book knew of it
    fresh = keys.new_signer(waiting)
    told: dict[str, Any] = {
        "public_key": fresh.public_key, "what": "lost" if lost else "replaced",
        "old_key": said[-1].public_key,
    }  # fmt: skip
    if old is not None:
        told["signature"] = old.sign(FOLLOWS, {"old": old.public_key, "new": fresh.public_key})
    _record(store, told, note)
    if path.exists():
        aside = said[-1].fingerprint.replace(" ", "")[:8]
        path.rename(path.with_name(f"{path.name}.{aside}{keys.RETIRED}"))
    waiting.rename(path)
    return said[-1], keys_of(store)[-1]


def _record(store: Store, told: dict[str, Any], note: str | None = None) -> None:
    store.record([named_by_content("key", told["public_key"][:8], told, None, note)])


def fresh_sentences(signer: keys.Signer) -> list[str]:
    """What a maker has to know of a key that was made just now."""
    return [
        f"From now on this book signs with key {signer.fingerprint}.",
        "Tell that fingerprint to customers by another way than the sheet: on your card, your door, your web "
        "page. Lay a locked copy of the key away: woodref book key export FILE --private.",
    ]


_WHAT = {
    "first": "the first", "replaced": "signed for by the key before it",
    "lost": "the key before it was lost and did not sign for it",
}  # fmt: skip


def key_sentences(said: list[Said]) -> list[str]:
    """The keys of a book, the one in use last."""
    if not said:
        return ["This book has no key yet: it is made with the first deposit or sheet."]
    out = [f"{k.fingerprint}: since {k.since[:10]}, {_WHAT[k.what]}." for k in said]
    return [*out, f"In use: {said[-1].fingerprint}."]


def replaced_sentences(before: Said, now: Said) -> list[str]:
    """What a maker has to know after a key has followed another."""
    lost = now.what == "lost"
    return [
        f"From now on this book signs with key {now.fingerprint}; "
        + (f"the book says that {before.fingerprint} was lost." if lost
           else f"{before.fingerprint} signed that it hands over."),
        "Sheets signed before stay as good as they were"
        + (": but tell customers from which day a sheet with the lost key is not yours." if lost else ".")
        + " Tell the new fingerprint by another way than the sheet.",
    ]  # fmt: skip


# --- dated heads


@dataclass(frozen=True)
class Deposit:
    """A signed head. told: what is signed; signature in hex."""

    told: dict[str, Any]
    signature: str

    @property
    def sound(self) -> bool:
        return keys.holds(self.told["key"], keys.message(HEAD, self.told), self.signature)

    @property
    def fingerprint(self) -> str:
        return keys.fingerprint(self.told["key"])

    def as_text(self) -> str:
        """The file that is given out of the house."""
        return json.dumps({"woodref": HEAD, **self.told, "signature": self.signature}, indent=1) + "\n"

    def sentences(self) -> list[str]:
        told = self.told
        return [
            f"Signed: {told['events']:,} events, head {told['head']}, on {told['at']} with key "
            f"{self.fingerprint}.",
            "Give the file to somebody outside the house who keeps it with its date: whoever holds it can "
            "show later that nothing before it was changed or left out.",
        ]


def deposit(store: Store, signer: keys.Signer) -> Deposit:
    """Sign the head as it is now and keep the signature in the book. BadState for an empty book."""
    from sqlalchemy import text

    from woodref.provenance.engine import again, writing

    name = book_name(store)

    def work() -> Deposit:
        with writing(store.engine) as connection:
            seq, head = connection.execute(text("SELECT seq, hash FROM head WHERE one = 1")).one()
            if not int(seq):
                raise BadState("there is nothing in this book to sign", next="Record something first.")
            told = {"book": name, "events": int(seq), "head": str(head), "at": now().utc,
                    "key": signer.public_key}  # fmt: skip
            made = Deposit(told, signer.sign(HEAD, told))
            connection.execute(
                text("INSERT INTO deposit (seq, at, hash, public_key, signature) VALUES (:s, :a, :h, :k, :g) "
                     "ON CONFLICT DO NOTHING"),
                {"s": seq, "a": told["at"], "h": head, "k": signer.public_key, "g": made.signature},
            )  # fmt: skip
            return made

    return again(work)


def read_deposit(path: Path) -> Deposit:
    """A deposit from its file, or from standard input for '-'."""
    return deposit_from(bytes_of(path, 100_000, BadKey, "Name the file that book deposit wrote."), str(path))


def deposit_from(body: bytes, file: str) -> Deposit:
    """A deposit as it was given out. BadKey when the file is none, or is not signed by the key it names."""
    try:
        told = json.loads(body)
        signature = told.pop("signature")
        fits = told.pop("woodref") == HEAD and {*told} == {"book", "events", "head", "at", "key"}
        made = Deposit(told, signature)
        fits = fits and isinstance(told["events"], int) and made.sound
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError):
        fits = False
    if not fits:
        raise BadKey(f"{file} is no signed head, or was changed since it was signed")
    return made


def deposits_of(store: Store) -> list[Deposit]:
    """Every deposit that the book keeps, oldest first."""
    name = book_name(store)
    rows = store.rows("SELECT seq, hash, at, public_key, signature FROM deposit ORDER BY seq, at")
    return [
        Deposit({"book": name, "events": int(s), "head": h, "at": a, "key": k}, g) for s, h, a, k, g in rows
    ]
