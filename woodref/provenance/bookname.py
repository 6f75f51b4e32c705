"""What a book is called: its random id, which stays inside, and the name that stands on what goes out."""

from __future__ import annotations

from woodref.provenance.canonical import digest
from woodref.provenance.store import Store


def book_id(store: Store) -> str:
    """The random id of a book."""
    return str(store.rows("SELECT value FROM meta WHERE key = 'book'")[0][0])


def book_name(store: Store) -> str:
    """What a book is called outside: on sheets, deposits and exports. It follows from the book's secret id,
    which leads from no name back."""
    return digest(f"woodref book name\n{book_id(store)}".encode())[:32]
