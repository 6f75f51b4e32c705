"""The bench: our own code beside well-known libraries that do the same work in the same run.

    python tests/bench/run.py [--full] [--only PART] [--out FILE]

Equality of the results is asserted before a time is printed; ours and the peer take turns; times are
seconds of the processor. A peer that is not installed (extra `bench`) is named in its row. --full adds the
sizes that take minutes.
"""

from __future__ import annotations

import argparse
import datetime as dt
import importlib
import os
import sys
import tempfile
from pathlib import Path

#: part of the table -> the file that measures it, here
PARTS = {
    "start-up": "starting",
    "catalogue": "building",
    "names": "naming",
    "ranking": "ranked",
    "layup": "laying",
    "book": "booking",
    "pages": "paging",
}


def main() -> None:
    asked = argparse.ArgumentParser(description="Our own code beside well-known libraries.")
    asked.add_argument("--full", action="store_true", help="the sizes that take minutes too")
    asked.add_argument("--only", choices=PARTS, action="append", help="this part alone; again for more")
    asked.add_argument("--out", type=Path, help="write the table into this file")
    asked.add_argument("--runs", type=int, default=30, help="runs of each work (30)")
    given = asked.parse_args()
    if given.runs < 1:
        asked.error("--runs is a whole number from 1")
    # preset for another machine, these turn the number library's own measure of the processor off
    for name in [name for name in os.environ if name.startswith("OPENBLAS")]:
        del os.environ[name]
    # one thread for all: a second one would be time of the processor that nobody waits for
    os.environ |= {"OPENBLAS_NUM_THREADS": "1", "OMP_NUM_THREADS": "1", "WOODREF_TODAY": "2026-06-01"}
    # what is installed is compiled; a checkout is here, and for the peer, once
    os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
    with tempfile.TemporaryDirectory() as folder:
        os.environ["WOODREF_CACHE"] = f"{folder}/cache"
        os.environ["PYTHONPYCACHEPREFIX"] = f"{folder}/compiled"
        _measure(given)


def _measure(given: argparse.Namespace) -> None:
    import timing

    rows: list[timing.Row] = []
    for part in given.only or PARTS:
        print(f"{part} ...", file=sys.stderr)
        module = importlib.import_module(PARTS[part])
        rows += module.rows(given.runs, given.full)
    told = [f"# Bench of {dt.datetime.now(dt.UTC):%Y-%m-%d}", "", *timing.machine(), ""]
    told.append(
        "Milliseconds of the processor (start-up: of the user's part in a fresh process), the middle one of "
        f"{given.runs} runs or, where one takes long, of fewer; in brackets that within which 95 of 100 lie."
    )
    text = "\n".join([*told, "", timing.table(rows), ""])
    print(text)
    if given.out:
        given.out.write_text(text, "utf-8")


if __name__ == "__main__":
    main()
