"""The customer sheets that a book keeps, against their signatures, their keys and its chain."""

from __future__ import annotations

import json
from collections.abc import Collection

from woodref.provenance import keys
from woodref.provenance.canonical import canonical, digest
from woodref.provenance.sheets import FILES, SAYS, hashes, manifest
from woodref.provenance.store import Store


def sheet_flaws(store: Store, own: Collection[str]) -> list[str]:
    """Sentences, one a sheet that does not hold. own: public keys of the book."""
    out: list[str] = []
    before: tuple[str, int, str | None] = ("", 0, None)
    rows = store.rows(
        "SELECT s.item, s.version, s.payload, s.signature, s.files, s.files_signature, e.hash FROM sheet s "
        "LEFT JOIN event e ON e.seq = s.seq ORDER BY s.item, s.version"
    )
    for item, version, payload, signature, files, seal, head in rows:
        name = f"Sheet of {item}, version {int(version)}"
        last = before if before[0] == item else (item, 0, None)
        before = (item, int(version), digest(payload.encode()))
        try:
            told = json.loads(payload)
            key = str(told["key"])
            signed = keys.holds(key, keys.message(SAYS, told), signature) and key in own
            listed = manifest(digest(canonical(told)), hashes(json.loads(files)))
            sealed = keys.holds(key, keys.message(FILES, listed), seal)
            fits = (told["item"], told["version"], told["before"]) == (item, last[1] + 1, last[2])
            fits = fits and int(version) == told["version"] and told["head"]["hash"] == head
        except (ValueError, KeyError, TypeError, AttributeError):
            signed = sealed = fits = False
        if not signed:
            out.append(f"{name}: it is not as a key of this book signed it.")
        elif not sealed:
            out.append(f"{name}: its files are not as they were signed.")
        elif not fits:
            out.append(
                f"{name}: it does not follow on the version before it, or its head is not on the chain."
            )
    return out
