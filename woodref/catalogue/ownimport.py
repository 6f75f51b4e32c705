"""Bringing a list of the user's own in: a CSV and its map become one kept file, whole or not at all."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

from woodref.catalogue.ownfaults import Faults
from woodref.catalogue.ownmap import read_map
from woodref.catalogue.ownrows import MAX_BYTES, take
from woodref.catalogue.ownstore import OwnList, digest_of, keep, place_of
from woodref.catalogue.yamlload import MAX_BYTES as MAP_BYTES
from woodref.errors import BadList
from woodref.files import bytes_of
from woodref.units import today


@dataclass(frozen=True)
class Imported:
    """A list that was brought in. left_out: names of columns; skipped: faults of the rows left out."""

    kept: OwnList
    taken: tuple[str, ...]
    left_out: tuple[str, ...]
    skipped: Faults
    replaced: bool

    @property
    def sentences(self) -> list[str]:
        """What was done, for a person."""
        held = self.kept
        rows = f"{held.rows:,} row{'' if held.rows == 1 else 's'}"
        done = "put in place of the one kept before" if self.replaced else "kept"
        out = [f"{rows} of {held.file} {done} as {held.words}, digest {held.digest}."]
        out.append(f"Columns taken: {', '.join(self.taken).rstrip('.')}.")
        if self.left_out:
            out.append(f"Columns left out, as the map says: {', '.join(self.left_out).rstrip('.')}.")
        if held.left_out:
            many = "1 row was" if held.left_out == 1 else f"{held.left_out:,} rows were"
            out.append(f"{many} left out for {self.skipped.count:,} fault"
                       f"{'' if self.skipped.count == 1 else 's'}:")  # fmt: skip
        return out

    @property
    def faults(self) -> list[str]:
        """Which rows were left out and why, as far as they are told one by one."""
        out = [f"{fault.name}: {fault.says}" for fault in self.skipped.told]
        rest = self.skipped.count - len(out)
        return [*out, f"and {rest:,} more."] if rest else out

    @property
    def closing(self) -> list[str]:
        """What can be done with it."""
        return [
            "Its figures change nothing in the catalogue and were not checked here.",
            f"Its rows: woodref find --among {self.kept.id}. Ranked alone: woodref substitute "
            f"NAME --among {self.kept.id}. Away with it: woodref data drop {self.kept.id}.",
        ]

    def as_dict(self) -> dict[str, Any]:
        """The JSON contract of `data import`."""
        return {
            "list": self.kept.as_dict(),
            "columns": list(self.taken),
            "columns_left_out": list(self.left_out),
            "rows_left_out": self.kept.left_out,
            "faults": [{"where": fault.name, "says": fault.says} for fault in self.skipped.told],
            "fault_count": self.skipped.count,
            "replaced": self.replaced,
            "notices": [],
        }


def bring_in(csv_file: Path, map_file: Path, leave_out_faulty: bool, replace: bool) -> Imported:
    """Read a list by its map and keep it. BadList tells everything that cannot be read, and then nothing is
    kept; leave_out_faulty: rows with a fault are left out instead, and told."""
    if str(csv_file) == str(map_file) == "-":
        raise BadList("standard input cannot be both the list and its map", next="Name a file for one.")
    map_body = bytes_of(map_file, MAP_BYTES, BadList, "A map is a page of YAML.")
    by = read_map(map_body, map_file.name)
    place = place_of(by.list_id)
    there = place.exists()
    if there and not replace:
        raise BadList(
            f"a list {by.list_id} is kept already",
            next="Add --replace to put this one in its place, or give this one another id in its map.",
        )
    body = bytes_of(csv_file, MAX_BYTES, BadList, "Bring it in as several lists.")
    if len(body) > MAX_BYTES:
        raise BadList(f"the list has more than {MAX_BYTES:,} bytes", next="Bring it in as several lists.")
    taken = take(body, csv_file.name, by)
    if taken.faulty and not (leave_out_faulty and taken.rows):
        are = "row has a fault" if taken.faulty == 1 else "rows have faults"
        taken.faults.settle(
            f"{taken.faulty:,} {are} and nothing was kept. Mend them"
            + (", or leave them out with --leave-out-faulty." if taken.rows else ".")
        )
    kept = keep(
        taken.rows,
        by,
        csv_file.name,
        digest_of(body, map_body),
        today().isoformat(),
        taken.faulty,
        replace,
    )
    return Imported(kept, by.columns, by.left_out, taken.faults, there)
