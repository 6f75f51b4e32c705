"""A person erased: out of the parties' file, and the private papers about them out of the document store."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from woodref.provenance.documents import inside
from woodref.provenance.faults import OutsideStore, StorageFault
from woodref.provenance.parties import Parties, Party


@dataclass(frozen=True)
class Gone:
    """papers: ids of the papers erased with the party; not_found: those of them whose file was not there;
    held: papers that stay for a duty told of another party."""

    party: Party
    where: Path
    folder: Path
    papers: Sequence[str]
    not_found: Sequence[str]
    held: Sequence[str]

    def sentences(self) -> list[str]:
        """Without the name, which is gone."""
        out = [
            f"Erased party {self.party.id}: name and contact are gone from {self.where} and its log. The "
            "book keeps the id and holds as before."
        ]
        there = [p for p in self.papers if p not in self.not_found]
        if there:
            out.append(f"The file{'' if len(there) == 1 else 's'} of {', '.join(there)} went with them.")
        if self.not_found:
            out.append(
                f"The file of {', '.join(self.not_found)} is not in {self.folder}: delete it where it is. "
                "Its hash in the book says nothing any more."
            )
        if self.held:
            out.append(
                f"{', '.join(self.held)} {'stays' if len(self.held) == 1 else 'stay'}: kept for a duty that "
                "was told when another party was erased."
            )
        if self.party.hold:
            out.append(f"Papers about them are kept: {self.party.hold}.")
        return [
            *out,
            "Backups of the parties made before still hold the name: let them run out, or delete them. The "
            "id is on the list of erased ones, which is applied when such a backup is put back.",
        ]

    def as_dict(self) -> dict[str, Any]:
        """The JSON of `book party erase`."""
        return {
            "party": self.party.id, "erased_on": self.party.erased_at, "papers": list(self.papers),
            "files_not_found": list(self.not_found), "held": list(self.held),
            "kept_for": self.party.hold,
            "sentences": self.sentences(), "notices": [],
        }  # fmt: skip


def erase(parties: Parties, party: Party, folder: Path, hold: str | None = None) -> Gone:
    """Erase a party, and the files of the private papers linked to it from the document store. Said again, it
    does again what was left undone."""
    done = parties.erase(party, hold)
    missing = []
    for name, file in done.documents.items():
        try:
            inside(folder, file).unlink()
        except (FileNotFoundError, OutsideStore):
            missing.append(name)
        except OSError as fault:
            raise StorageFault(
                f"the party is erased, but the file of {name} cannot be deleted ({fault.strerror})",
                next=f"Delete {folder / file} yourself.",
            ) from None
    return Gone(done.party, parties.path, folder, tuple(done.documents), tuple(missing), done.held)
