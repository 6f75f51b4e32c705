"""Customer sheets: signed, written as files, kept. A new version is made when something changed, and says
what; older versions stay as they were given out, byte for byte.

Two signatures: one over what the sheet says, printed on it, and one over the files that go with it.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from woodref.provenance.bookname import book_name
from woodref.provenance.canonical import canonical, digest
from woodref.provenance.faults import UnknownSheet
from woodref.provenance.keys import Signer, fingerprint
from woodref.provenance.sheetlines import lines_of
from woodref.provenance.store import Store
from woodref.provenance.times import now

#: purposes of the two signatures, and the version of sheet.json
SAYS, FILES, FORM = "sheet 1", "sheet files 1", "sheet 1"
#: the file that a check reads
MAIN = "sheet.json"
#: what does not make a new version by itself
DATED = ("on", "sentence", "version")
PASSING = ("book", "version", "made_at", "head", "changes", "before", "key", "rules")


@dataclass(frozen=True)
class Sheet:
    """A sheet as it is given out. told: what is signed; files: name -> text, without sheet.json."""

    told: Mapping[str, Any]
    signature: str
    files: Mapping[str, str]
    files_signature: str

    @property
    def version(self) -> int:
        return int(self.told["version"])

    @property
    def digest(self) -> str:
        """SHA-256 of what is signed."""
        return digest(canonical(self.told))

    @property
    def fingerprint(self) -> str:
        return fingerprint(self.told["key"])

    def main(self) -> str:
        """The text of sheet.json."""
        body = {
            "woodref": FORM, "sheet": self.told, "signature": self.signature,
            "files": hashes(self.files), "files_signature": self.files_signature,
        }  # fmt: skip
        return json.dumps(body, ensure_ascii=False, indent=1) + "\n"

    def all_files(self) -> dict[str, str]:
        """Name -> text of every file of it."""
        return {**self.files, MAIN: self.main()}


def hashes(files: Mapping[str, str]) -> dict[str, str]:
    """Name -> SHA-256 of each file."""
    return {name: digest(text.encode("utf-8")) for name, text in sorted(files.items())}


def manifest(sheet_digest: str, files: Mapping[str, str]) -> dict[str, Any]:
    """What the second signature is over. files: name -> SHA-256."""
    return {"sheet": sheet_digest, "files": dict(files)}


@dataclass(frozen=True)
class Given:
    """A sheet, whether it was made just now, and whether an older one was asked for."""

    sheet: Sheet
    fresh: bool
    older: bool = False

    def sentences(self) -> list[str]:
        told, sheet = self.sheet.told, self.sheet
        when = told["made_at"][:10]
        name = f"the sheet of {told['item']}"
        if self.fresh:
            out = [f"Sheet of {told['item']}, version {sheet.version}, made on {when}."]
        elif self.older:
            out = [f"Version {sheet.version} of {name}, as it was given out on {when}."]
        else:
            out = [f"Nothing on {name} has changed since version {sheet.version} of {when}: "
                   "that one is written again."]  # fmt: skip
        if told["changes"] and self.fresh:
            out += ["Changed since the version before:", *told["changes"]]
        out += [f"Not proven: {line}" for line in told["not_proven"]]
        return [*out, f"Signed with key {sheet.fingerprint}."]


def kept(store: Store, item: str, version: int | None = None) -> Sheet | None:
    """A sheet as it was given out, the last one without a version; None when there is none."""
    rows = store.rows(
        "SELECT payload, signature, files, files_signature FROM sheet WHERE item = :item "
        "AND (version = :version OR :version = 0) ORDER BY version DESC LIMIT 1",
        item=item, version=version or 0,
    )  # fmt: skip
    if not rows:
        return None
    payload, signature, files, files_signature = rows[0]
    return Sheet(json.loads(payload), signature, json.loads(files), files_signature)


def older(store: Store, item: str, version: int) -> Given:
    """UnknownSheet names the versions there are."""
    found = kept(store, item, version)
    if found is None:
        rows = store.rows("SELECT version FROM sheet WHERE item = :item ORDER BY version", item=item)
        there = ", ".join(str(v) for (v,) in rows)
        raise UnknownSheet(
            f"there is no version {version} of a sheet of {item}", where="--version",
            expected=f"version {there}" if there else f"one that was made: woodref sheet {item}",
        )  # fmt: skip
    return Given(found, False, older=True)


#: (what the sheet says, its signature) -> the files beside sheet.json
Render = Callable[[Mapping[str, Any], str], Mapping[str, str]]


def give_out(store: Store, facts: Mapping[str, Any], signer: Signer, render: Render) -> Given:
    """Sign, render and keep a sheet; when nothing on it differs from the last version, that one again."""
    from sqlalchemy import text

    from woodref.provenance.engine import again, writing

    item, name = str(facts["item"]), book_name(store)

    def work() -> Given:
        with writing(store.engine) as connection:
            last = kept(store, item)
            if last is not None and _same(last.told, facts):
                return Given(last, False)
            seq, head = connection.execute(text("SELECT seq, hash FROM head WHERE one = 1")).one()
            told = {
                **facts, "book": name, "version": 1 if last is None else last.version + 1,
                "made_at": now().utc, "head": {"events": int(seq), "hash": str(head)},
                "changes": [] if last is None else changes(last.told, facts),
                "before": None if last is None else last.digest, "key": signer.public_key,
            }  # fmt: skip
            made = _signed(told, signer, render)
            connection.execute(
                text("INSERT INTO sheet (item, version, made, seq, payload, signature, files, "
                     "files_signature, public_key) VALUES (:i, :v, :m, :s, :p, :g, :f, :h, :k)"),
                {"i": item, "v": made.version, "m": told["made_at"], "s": int(seq),
                 "p": canonical(told).decode(), "g": made.signature, "f": canonical(made.files).decode(),
                 "h": made.files_signature, "k": signer.public_key},
            )  # fmt: skip
            return Given(made, True)

    return again(work)


def _signed(told: dict[str, Any], signer: Signer, render: Render) -> Sheet:
    # as it will be read back: one text for one value
    told = json.loads(canonical(told))
    signature = signer.sign(SAYS, told)
    files = {name: json.loads(canonical(text)) for name, text in render(told, signature).items()}
    seal = signer.sign(FILES, manifest(digest(canonical(told)), hashes(files)))
    return Sheet(told, signature, files, seal)


def _same(before: Mapping[str, Any], now_: Mapping[str, Any]) -> bool:
    def lasting(told: Mapping[str, Any]) -> bytes:
        # the day on which the rules were asked passes too, and so does the sentence that holds it
        asked = [
            {k: v for k, v in p.items() if k not in ("on", "sentence", "version")}
            for p in told["destinations"]
        ]
        held = {key: value for key, value in told.items() if key not in PASSING}
        return canonical(held | {"destinations": asked})

    return lasting(before) == lasting(now_)


def changes(before: Mapping[str, Any], now_: Mapping[str, Any]) -> list[str]:
    """What a version says that the one before it did not, and what it does not say any more."""
    if before["kind"] != now_["kind"]:
        return ["The sheet has another form than the version before: lay the two side by side."]
    was, is_ = lines_of(before), lines_of(now_)
    gone = [f"No longer: {line}" for line in was if line not in is_]
    come = [f"Now: {line}" for line in is_ if line not in was]
    return [*gone, *come]


def write(sheet: Sheet, folder: Path) -> list[Path]:
    """Every file of a sheet, into a folder that is made if need be. BadRequest when that cannot be."""
    from woodref.errors import BadRequest
    from woodref.files import write_text

    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as wrong:
        raise BadRequest(f"{folder} cannot be made ({wrong.strerror})", next="Name another folder.") from None
    out = []
    for name, body in sheet.all_files().items():
        write_text(folder / name, body)
        out.append(folder / name)
    return out
