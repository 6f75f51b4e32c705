"""Papers: added to lots with their files, listed with what is drawn on them, and never for more than they
cover."""

from __future__ import annotations

import datetime as dt
import hashlib
import stat
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from woodref.errors import BadRequest, WoodrefError
from woodref.provenance import paperfiles, paperlist, papers
from woodref.provenance.faults import DocumentOverused, EventConflict, NotBeforeListing, PermitOverdrawn
from woodref.provenance.parties import Parties, open_parties
from woodref.provenance.shapes import Event
from woodref.provenance.store import Store
from woodref.provenance.verify import check_book

WHEN = "2025-11-03T09:00:00+01:00"
TODAY = dt.date(2026, 6, 1)
Add = Callable[..., papers.Adding]


@pytest.fixture
def scan(tmp_path: Path) -> Path:
    file = tmp_path / "Scan 1.PDF"
    file.write_bytes(b"bill of the Marrowgate Timber")
    return file


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return tmp_path / "papers"


@pytest.fixture
def add(full: Store, folder: Path) -> Add:
    """Add a paper and record it."""

    def added(lot: str, file: Path | None, kind: str = "invoice", tier: str = "auditor", **told: Any) -> Any:
        done = papers.add(full, lot, kind, tier, file, folder, time=WHEN, **told)
        full.record([done.event])
        return done

    return added


def looked(store: Store, folder: Path, lot: str | None = None) -> paperlist.Papers:
    return paperlist.listed(store, lot, folder, paperfiles.salts_at_hand(), True, TODAY)


def test_a_paper_is_kept_by_its_hash_and_stands_in_the_book(
    full: Store, add: Add, scan: Path, folder: Path
) -> None:
    done = add("L-C", scan, number="2009-77", issued_on="2009-03-04", covers="3 leaves of 1800 x 200 mm")
    sha = hashlib.sha256(scan.read_bytes()).hexdigest()
    assert [p.name for p in folder.iterdir()] == [f"{sha}.pdf"]
    told = done.event.more["document"]
    assert (told["sha256"], told["size"], told["file"]) == (sha, 29, f"{sha}.pdf")
    # the name a person gave the file is nowhere in the book
    assert not full.rows("SELECT 1 FROM event WHERE payload LIKE '%Scan 1%'")
    assert "It covers 1.08 m2 (1,080,000 mm2). Drawn on it: 1,080,000 mm2; 0 mm2 left." in done.sentences
    assert check_book(full).sound
    found = looked(full, folder, "L-C")
    assert [row.file.state for row in found.rows] == ["the same"] and found.sound


def test_a_paper_only_known_of(full: Store, add: Add, folder: Path) -> None:
    done = add("L-C", None, "phytosanitary-certificate", number="PC-7", expires_on="2026-01-01")
    assert "No file: a paper we know of and do not hold." in done.sentences
    assert not folder.exists()
    found = looked(full, folder, "L-C")
    assert found.rows[0].file.state == "no file"
    assert any("ran out on 2026-01-01" in line for line in found.sentences())


def test_the_amount_is_counted_in_another_unit(full: Store, add: Add, folder: Path) -> None:
    done = add("L-C", None, "permit", covers="2 kg")
    assert any("L-C is counted in another unit and not in it" in line for line in done.sentences)
    assert looked(full, folder, "L-C").rows[0].not_counted == ("L-C",)


def test_one_file_is_not_drawn_on_twice(full: Store, add: Add, scan: Path, folder: Path) -> None:
    add("L-C", scan, covers="3 leaves of 1800 x 200 mm")
    head = full.head()
    with pytest.raises(DocumentOverused, match="covers 1,080,000 mm2; drawn 5,400,000"):
        add("L-B", scan)
    with pytest.raises(BadRequest, match=r"covers 1\.08 m2 as invoice-"):
        add("L-B", scan, covers="15 leaves of 1800 x 200 mm")
    with pytest.raises(EventConflict, match="on record of L-C already"):
        add("L-C", scan)
    assert full.head() == head
    # the file was there before, so a refusal leaves it
    assert len(list(folder.iterdir())) == 1


def test_a_permit_is_not_drawn_on_for_more(full: Store, add: Add, folder: Path) -> None:
    with pytest.raises(PermitOverdrawn):
        add("G-1", None, "permit", covers="9 kg")
    add("G-1", None, "permit", covers="10 kg")
    row = looked(full, folder, "G-1").rows[-1]
    assert (row.drawn, row.paper.covers) == (10_000_000, (10_000_000, "mg"))


def test_what_is_refused_leaves_no_file(full: Store, scan: Path, folder: Path, tmp_path: Path) -> None:
    def refused(fault: type[WoodrefError], match: str, **told: Any) -> None:
        given = {"lot": "L-C", "kind": "invoice", "tier": "auditor", "file": scan} | told
        with pytest.raises(fault, match=match):
            papers.add(full, folder=folder, time=WHEN, **given)
        assert not folder.exists() or not list(folder.iterdir()), told

    refused(WoodrefError, "there is no lot L-Z", lot="L-Z")
    refused(BadRequest, "belongs to eudr-reference", verification="12345678")
    refused(BadRequest, "belongs to pre-listing-claim", acquired_on="2009-01-01")
    refused(
        NotBeforeListing, "must be before", kind="pre-listing-claim",
        acquired_on="2017-01-02", listed_on="2017-01-02",
    )  # fmt: skip
    refused(WoodrefError, "a reference number of 15 characters", kind="eudr-reference", number="A" * 15)
    refused(WoodrefError, "a verification number of 4", kind="eudr-reference", verification="1234")
    refused(WoodrefError, "no such date|no date|not a date|is no", issued_on="2009-02-30")
    refused(BadRequest, "a paper about a person is private", party="3f2a")
    (tmp_path / "empty.pdf").touch()
    refused(BadRequest, "is empty", file=tmp_path / "empty.pdf")
    refused(BadRequest, "is no file", file=tmp_path)
    refused(WoodrefError, "cannot be read or kept", file=tmp_path / "none.pdf")


def test_a_private_paper_tells_nothing_of_its_file(full: Store, scan: Path, folder: Path) -> None:
    plain = hashlib.sha256(scan.read_bytes()).hexdigest()
    with open_parties() as parties:
        done = papers.add(full, "L-C", "affidavit", "private", scan, folder, parties, time=WHEN)
        full.record([done.event])
        salt = bytes.fromhex(parties.salts()[done.event.more["document"]["id"]][0] or "")
        told = done.event.more["document"]
        assert told["salted_sha256"] == hashlib.sha256(salt + scan.read_bytes()).hexdigest()
        assert "sha256" not in told
        kept = folder / told["file"]
        assert stat.S_IMODE(kept.stat().st_mode) == 0o600 and plain not in kept.name
        with pytest.raises(EventConflict, match="on record of L-C already"):
            papers.add(full, "L-C", "affidavit", "private", scan, folder, parties, time=WHEN)
        assert [p.name for p in folder.iterdir()] == [told["file"]] and len(parties.salts()) == 1
    assert not full.rows("SELECT 1 FROM event WHERE payload LIKE :plain", plain=f"%{plain}%")
    assert looked(full, folder, "L-C").rows[0].file.state == "the same"
    kept.write_bytes(b"bill of the Marrowgate Timbex")
    assert looked(full, folder, "L-C").rows[0].file.state == "differs"


def test_a_private_copy_of_a_paper_draws_on_it_too(full: Store, add: Add, scan: Path, folder: Path) -> None:
    add("L-C", scan, covers="3 leaves of 1800 x 200 mm")
    with open_parties() as parties:
        with pytest.raises(DocumentOverused, match="lots L-C, L-B"):
            papers.add(full, "L-B", "affidavit", "private", scan, folder, parties, time=WHEN)
        assert not parties.salts() and len(list(folder.iterdir())) == 1


def test_erased_is_not_damaged(full: Store, scan: Path, folder: Path) -> None:
    from woodref.provenance.erasing import erase

    with open_parties() as parties:
        whom = parties.add("supplier", "Wendeline Ostrakov")
        done = papers.add(full, "L-C", "affidavit", "private", scan, folder, parties, whom.id[:6], time=WHEN)
        full.record([done.event])
        copy = (folder / done.event.more["document"]["file"]).read_bytes()
        gone = erase(parties, parties.one(whom.id), folder)
    assert len(gone.papers) == 1 and not gone.not_found and not list(folder.iterdir())
    seen = paperfiles.with_files(check_book(full), full)
    assert seen.sound and any("was erased on" in line for line in seen.sentences())
    # put back from somewhere, it is told
    (folder / done.event.more["document"]["file"]).write_bytes(copy)
    seen = paperfiles.with_files(check_book(full), full)
    assert not seen.sound and any("its file is there again" in line for line in seen.sentences())


def test_a_paper_kept_by_duty_stays(full: Store, scan: Path, folder: Path) -> None:
    with open_parties() as parties:
        whom = parties.add("supplier", "Wendeline Ostrakov")
        done = papers.add(full, "L-C", "affidavit", "private", scan, folder, parties, whom.id, time=WHEN)
        full.record([done.event])
        gone = parties.erase(parties.one(whom.id), hold="purchase papers of a listed wood")
    assert gone.party.name is None and not gone.documents
    assert looked(full, folder, "L-C").rows[0].file.state == "the same"


def test_a_paper_about_two_stays_for_the_duty_of_one(full: Store, scan: Path, folder: Path) -> None:
    from woodref.provenance.erasing import erase

    with open_parties() as parties:
        one, two = parties.add("supplier", "Wendeline Ostrakov"), parties.add("buyer", "Bevis Quandrill")
        done = papers.add(full, "L-C", "affidavit", "private", scan, folder, parties, one.id, time=WHEN)
        full.record([done.event])
        name = done.event.more["document"]["id"]
        parties.link(two, "document", name)
        parties.erase(parties.one(one.id), hold="papers of a listed wood")
        gone = erase(parties, parties.one(two.id), folder)
    assert gone.held == [name] and not gone.papers
    assert any(line.startswith(f"{name} stays: kept for a duty") for line in gone.sentences())
    assert looked(full, folder, "L-C").rows[0].file.state == "the same"


def test_an_odd_ending_of_a_file_stays_out_of_the_book(full: Store, add: Add, tmp_path: Path) -> None:
    letter = tmp_path / "letter.thripple"
    letter.write_text("a letter")
    told = add("L-C", letter).event.more["document"]
    assert told["file"] == told["sha256"]


def test_a_private_paper_takes_no_salt_of_another(
    full: Store, scan: Path, folder: Path, tmp_path: Path
) -> None:
    other = tmp_path / "other.pdf"
    other.write_bytes(b"another letter")
    with open_parties() as parties:
        done = papers.add(full, "L-C", "affidavit", "private", scan, folder, parties, name="AFF", time=WHEN)
        full.record([done.event])
        before = parties.salts()
        with pytest.raises(EventConflict, match="AFF is known already"):
            papers.add(full, "L-B", "affidavit", "private", other, folder, parties, name="AFF", time=WHEN)
        assert parties.salts() == before and len(list(folder.iterdir())) == 1


def test_without_the_parties_file_a_private_paper_cannot_be_told(
    full: Store, scan: Path, folder: Path, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    with open_parties() as parties:
        full.record(
            [papers.add(full, "L-C", "affidavit", "private", scan, folder, parties, time=WHEN).done.event]
        )
    monkeypatch.setenv("WOODREF_PARTIES", str(tmp_path / "elsewhere.sqlite"))
    seen = paperfiles.with_files(check_book(full), full)
    assert seen.sound and any("only the parties' file can tell" in line for line in seen.sentences())
    Parties(tmp_path / "elsewhere.sqlite").close()
    seen = paperfiles.with_files(check_book(full), full)
    assert not seen.sound and any("its salt is lost" in line for line in seen.sentences())


def test_a_book_without_its_folder_says_what_was_not_looked_at(
    full: Store, add: Add, scan: Path, folder: Path, make: Callable[..., Event]
) -> None:
    add("L-C", scan)
    next(folder.iterdir()).unlink()
    folder.rmdir()
    seen = paperfiles.with_files(check_book(full), full)
    assert seen.sound and any("were not looked at" in line for line in seen.sentences())
    # but where a folder is named, a file that is not in it is missed
    seen = paperfiles.with_files(check_book(full), full, str(folder))
    assert not seen.sound and seen.flaws[0].code == "document-missing"


def test_kinds_and_tiers_of_the_command_are_those_of_the_book() -> None:
    from woodref.cli.document import add as command
    from woodref.provenance import documents

    choices = {p.name: getattr(p.type, "choices", None) for p in command.params}
    assert tuple(choices["kind"]) == documents.KINDS and tuple(choices["tier"]) == documents.TIERS
    assert set(papers.SEEN_BY) == set(documents.TIERS)
