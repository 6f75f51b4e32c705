"""The document store under faults: a file deleted, swapped, cut short, or replaced by a link."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path

import pytest

from woodref.provenance import papers
from woodref.provenance.paperfiles import Seen, with_files
from woodref.provenance.shapes import event_of
from woodref.provenance.store import Store
from woodref.provenance.verify import check_book

BODY = b"an invoice of the Alderholt Veneer Merchants, invented"


def _deleted(file: Path, _: Path) -> None:
    file.unlink()


def _swapped(file: Path, _: Path) -> None:
    file.write_bytes(BODY[::-1])  # as long as before


def _one_bit(file: Path, _: Path) -> None:
    file.write_bytes(bytes([BODY[0] ^ 1]) + BODY[1:])


def _cut(file: Path, _: Path) -> None:
    with file.open("rb+") as opened:
        opened.truncate(10)


def _grown(file: Path, _: Path) -> None:
    file.write_bytes(BODY + b"\n")


def _linked_out(file: Path, outside: Path) -> None:
    # the same bytes, but kept elsewhere, where anybody may change them
    outside.write_bytes(BODY)
    file.unlink()
    file.symlink_to(outside)


def _linked_to_nothing(file: Path, outside: Path) -> None:
    file.unlink()
    file.symlink_to(outside / "gone")


def _a_folder(file: Path, _: Path) -> None:
    file.unlink()
    file.mkdir()


def _a_pipe(file: Path, _: Path) -> None:
    file.unlink()
    os.mkfifo(file)


FAULTS = {
    "deleted": (_deleted, "document-missing", "its file is not in"),
    "swapped": (_swapped, "document-differs", "its file is not the one recorded"),
    "one bit": (_one_bit, "document-differs", "its file is not the one recorded"),
    "cut short": (_cut, "document-differs", "54 bytes were stored, 10 are found"),
    "grown": (_grown, "document-differs", "54 bytes were stored, 55 are found"),
    "link out": (_linked_out, "outside-store", "leads out of"),
    "dead link": (_linked_to_nothing, "document-missing", "its file is not in"),
    "folder": (_a_folder, "document-differs", "is no file"),
    "pipe": (_a_pipe, "document-differs", "is no file"),
}


@pytest.fixture
def kept(tmp_path: Path) -> tuple[Store, Path]:
    """A book beside the folder of its papers, with one paper in it."""
    store = Store(f"sqlite:///{tmp_path / 'book.sqlite'}")
    lots = {"A": {"form": "veneer", "thickness_um": 600, "species": "Betula pendula"}}
    out = [{"lot": "A", "qty": 1000, "unit": "mm2"}]
    store.record(
        [event_of({"id": "R", "kind": "receive", "time": "2026-01-01T00:00:00Z", "out": out, "lots": lots})]
    )
    scan = tmp_path / "scan.pdf"
    scan.write_bytes(BODY)
    folder = tmp_path / "papers"
    done = papers.add(store, "A", "invoice", "auditor", scan, folder, time="2026-01-02T00:00:00Z").done
    store.record([done.event])
    return store, folder


def checked(store: Store) -> Seen:
    return with_files(check_book(store), store)


@pytest.mark.parametrize("fault", FAULTS)
def test_f20_a_file_that_is_not_as_recorded_is_named(
    kept: tuple[Store, Path], fault: str, tmp_path: Path
) -> None:
    store, folder = kept
    before = checked(store)
    assert before.sound and before.files == {"looked_at": 1, "same": 1, "wrong": 0, "of_no_paper": 0}
    spoil: Callable[[Path, Path], None]
    spoil, code, says = FAULTS[fault]
    spoil(next(folder.iterdir()), tmp_path / "outside.pdf")
    found = checked(store)
    assert not found.sound
    assert [flaw.code for flaw in found.flaws] == [code]
    assert says in found.flaws[0].message and "Document invoice-" in found.flaws[0].message
    # the events are as they were: a lost scan is no lost ledger
    assert found.trusted == found.events == 2
    store.close()


def test_a_file_of_no_paper_is_told_and_is_no_fault(kept: tuple[Store, Path]) -> None:
    store, folder = kept
    (folder / ("0" * 64 + ".pdf")).write_bytes(b"left over")
    (folder / "notes of the shop.txt").write_bytes(b"not ours")
    found = checked(store)
    assert found.sound and any("1 file belongs to no paper of this book" in s for s in found.sentences())
    store.close()


def test_a_name_in_the_book_that_leads_out_is_not_followed(kept: tuple[Store, Path], tmp_path: Path) -> None:
    # put in by hand: the book itself refuses such a name
    from sqlalchemy import text

    store, _ = kept
    (tmp_path / "secret.txt").write_bytes(BODY)
    with store.engine.begin() as connection:
        connection.execute(
            text('UPDATE paper SET told = replace(told, \'"file":"\', \'"file":"../secret.txt?\')')
        )
    found = checked(store)
    assert [flaw.code for flaw in found.flaws] == ["table-off", "outside-store"]
    store.close()
