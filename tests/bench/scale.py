"""A catalogue and a book as large as they may ever grow: every command that reads and every page of the
explorer on them, how times grow, and the same book on PostgreSQL with eight writing processes.

    python tests/bench/scale.py [--full] [--only PART] [--folder KEPT] [--out FILE]

Without --full it is one twentieth: 1,000 materials, 50,000 events. Growth is told from three sizes.
WOODREF_TEST_POSTGRES names the server (`.ci/postgres start FOLDER` prints one); without it that part is
left out, and said to be.
"""

from __future__ import annotations

import argparse
import os
import shutil
import sys
import tempfile
import time
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from asked import Grown

#: written: events of the eight writers, whose throughput does not hang on how long the book is
WHOLE = {"materials": 20_000, "events": 1_000_000, "written": 100_000}
PARTS = ("catalogue", "book", "postgres")


def sizes(whole: int) -> list[int]:
    """One twentieth, one quarter, all."""
    return [whole // 20, whole // 4, whole]


#: the pages that show the public copy of a book
PAGES_OF_BOOK = ("/items", "/shelf")


def catalogues(wanted: Sequence[int], folder: Path) -> list[tuple[int, Path, Path, float]]:
    """(materials, data folder, built catalogue, user seconds of building) of each size. Each data folder
    carries its digest, as a wheel does."""
    import resource

    from growing import write_data

    from woodref import paths
    from woodref.catalogue.reader import open_catalogue

    out = []
    for size in wanted:
        data = folder / f"data-{size}"
        took = 0.0
        if not (data / "DIGEST").exists():
            write_data(paths.data_dir(), data, size)
            (data / "DIGEST").write_text(paths.digest_of(data), "ascii")
        begun = resource.getrusage(resource.RUSAGE_SELF).ru_utime
        with open_catalogue(data, folder / "cache") as opened:
            took = resource.getrusage(resource.RUSAGE_SELF).ru_utime - begun
            assert not opened.notices, opened.notices[0]
            out.append((len(opened.ids()), data, opened.path, took))
            assert out[-1][0] >= size
    return out


#: how often what seems too steep is measured again, the lesser time kept: others' work on the machine comes
#: and goes, a true growth stays
AGAIN = 2


def steep(held: dict[str, Grown]) -> list[str]:
    """What grows faster than it may, by what was measured so far."""
    return [key for key, grown in held.items() if not grown.holds]


def by_materials(
    wanted: Sequence[int],
    folder: Path,
    inside: bool = False,
    asked: dict[str, str] | None = None,
    only: tuple[str, ...] = ("",),
) -> tuple[list[Grown], list[Grown]]:
    """Commands (all, or those asked) and pages (that begin so) on catalogues of these sizes. inside: commands
    in this process, for a quick look."""
    from asked import BY_MATERIALS, Grown, commands, environment, pages, same_answers

    held: dict[str, Grown] = {}
    seen: dict[str, Grown] = {}
    # built once, and the first loads what builds
    building = Grown("the build", "linear", 600)
    made = catalogues(wanted, folder)
    whole = BY_MATERIALS if asked is None else asked
    for woods, data, built, took in made:
        building.note(woods, 1000 * took, 0, "")
        said(f"catalogue of {woods:,} materials")
        commands(whole, woods, environment(folder, WOODREF_DATA=str(data)), held, built, inside)
        pages(woods, seen, built, None, only)
    for _ in range(AGAIN):
        lines, paths = steep(held), tuple(steep(seen))
        for woods, data, built, _ in made if lines or paths else ():
            said(f"once more, {woods:,} materials: {', '.join([*lines, *paths])}")
            some = {line: may for line, may in whole.items() if line in lines}
            commands(some, woods, environment(folder, WOODREF_DATA=str(data)), held, built, inside)
            pages(woods, {path: seen[path] for path in paths}, built, None, paths)
    if asked is None:
        assert same_answers(held) > 4
        _counted(made[0], folder)
    # a catalogue kept from another run is not built again
    built_here = [building] if min(building.times) > 500 else []
    return [*held.values(), *built_here], list(seen.values())


def _counted(made: tuple[int, Path, Path, float], folder: Path) -> None:
    """That `find` finds as many as the tables of one catalogue hold."""
    import json
    import sqlite3
    from contextlib import closing

    from asked import environment, run

    woods, data, built, _ = made
    words = ["find", "--with", "density=450..600", "--json"]
    _, _, text = run(words, environment(folder, WOODREF_DATA=str(data)), folder)
    sql = (
        "SELECT count(*) FROM figure WHERE property = 'density' AND preferred AND typical BETWEEN 450 AND 600"
    )
    with closing(sqlite3.connect(built)) as opened:
        (number,) = opened.execute(sql).fetchone()
    assert json.loads(text)["count"] == number > woods // 20


def by_events(
    wanted: Sequence[int], folder: Path, inside: bool = False
) -> tuple[list[Grown], list[Grown], list[str]]:
    """Commands on books of these sizes, and the pages of their public copies."""
    from asked import (
        BY_EVENTS,
        NOISE,
        PUBLISH,
        Grown,
        commands,
        environment,
        pages,
        run,
        run_here,
        same_answers,
    )
    from booked import balanced, books, traced

    from woodref.catalogue.reader import open_catalogue
    from woodref.provenance.store import Store

    held: dict[str, Grown] = {}
    seen: dict[str, Grown] = {}
    told, ready = [], []
    begun = time.process_time()
    made = books(wanted, folder)
    took = time.process_time() - begun
    if took > 1:
        told.append(
            f"{wanted[-1]:,} events recorded in {took:.0f} s of the processor, "
            f"{wanted[-1] / took:,.0f} a second."
        )
    for size, path in zip(wanted, made, strict=True):
        said(f"book of {size:,} events")
        with Store(f"sqlite:///{path}") as store:
            lots = balanced(store, size)
            items = traced(store) if size <= 100_000 else 0
        traces = f", {items} traces as by networkx" if items else ""
        told.append(
            f"{size:,} events: each there once and in order, {lots:,} lots balance as reckoned apart{traces}."
        )
        # nothing of another run: a fresh copy of the book is not the one that was backed up then
        home = folder / f"home-{size}"
        shutil.rmtree(home, ignore_errors=True)
        home.mkdir()
        # the catalogue is built once, before
        with open_catalogue(None, home / "cache") as opened:
            built = opened.path
        # some commands write: what stands in the folder stays as it was recorded
        worked = home / "book.sqlite"
        shutil.copyfile(path, worked)
        env = environment(home, WOODREF_BOOK=str(worked))
        copy = home / "copy.sqlite"
        # the copy whose pages are shown is published once, and that is measured
        took, memory, text = (run_here if inside else run)(
            ["book", "publish", str(copy), "--shelf"], env, home
        )
        grown = held.setdefault(PUBLISH, Grown(PUBLISH, BY_EVENTS[PUBLISH], NOISE))
        grown.note(size, took, memory, text)
        ready.append((size, env, built, copy))
        pages(size, seen, built, copy, PAGES_OF_BOOK)
        most = {line: may for line, may in BY_EVENTS.items() if line != PUBLISH}
        commands(most, size, env, held, inside=inside)
    for _ in range(AGAIN):
        lines, paths = steep(held), tuple(steep(seen))
        for size, env, built, copy in ready if lines or paths else ():
            said(f"once more, {size:,} events: {', '.join([*lines, *paths])}")
            some = {line: may for line, may in BY_EVENTS.items() if line in lines}
            commands(some, size, env, held, inside=inside)
            pages(size, {path: seen[path] for path in paths}, built, copy, paths)
    assert same_answers(held) > 3
    return list(held.values()), list(seen.values()), told


def on_postgres(events: int, server: str, folder: Path) -> list[str]:
    """Eight writers, in lists and one event at a time."""
    from writers import LIST, SINGLE, WRITERS, kept, schema, write

    told = []
    for many, size in ((min(SINGLE, events), 1), (events, LIST)):
        with schema(server) as url:
            took, used, twice = write(url, many, folder, size)
            kept(url, many)
        told.append(
            f"{many:,} events by {WRITERS} processes, {size} in a transaction: {took:.0f} s, "
            f"{many / took:,.0f} a second ({used:.0f} s of the processor in the writers); {twice:,} told "
            "twice and held once; nothing lost, every balance exact, the check holds."
        )
        said(told[-1])
    return told


def said(text: str) -> None:
    print(f"{time.strftime('%H:%M:%S')} {text}", file=sys.stderr, flush=True)


def table(rows: Sequence[Grown], unit: str) -> str:
    """What each takes at each size, with its law; what is steeper than it may be says so."""
    from timing import shown

    first = rows[0]
    sized = [f"{size:,}" for size in first.sizes]
    head = [f"work, by {unit}", *(f"{size}, ms" for size in sized), "peak or weight at most", "growth"]
    lines = [head, ["---"] * len(head)]
    for grown in rows:
        memory = max(grown.memory)
        page = grown.what.startswith("/")
        much = f"{memory:,.0f} {'kB' if page else 'MB'}" if memory else ""
        law = grown.law if grown.holds else f"{grown.law}: more than {grown.may}"
        lines.append([f"`{grown.what}`", *(shown(t) for t in grown.times), much, law])
    return "\n".join("| " + " | ".join(line) + " |" for line in lines)


def main() -> None:
    asked = argparse.ArgumentParser(description="How times grow with the catalogue and the book.")
    asked.add_argument("--full", action="store_true", help="20,000 materials and 1,000,000 events")
    asked.add_argument("--only", choices=PARTS, action="append", help="this part alone; again for more")
    asked.add_argument("--folder", type=Path, help="where catalogues and books stay for another run")
    asked.add_argument("--out", type=Path, help="write the tables into this file")
    given = asked.parse_args()
    os.environ |= {"OPENBLAS_NUM_THREADS": "1", "WOODREF_TODAY": "2026-06-01"}
    with tempfile.TemporaryDirectory() as name:
        folder = given.folder or Path(name)
        folder.mkdir(exist_ok=True)
        text = measured(given.only or PARTS, 1 if given.full else 20, folder)
    print(text)
    if given.out:
        given.out.write_text(text, "utf-8")


def measured(parts: Sequence[str], divided: int, folder: Path) -> str:
    """The text of the tables of these parts."""
    import datetime as dt

    from timing import machine

    woods, events = (sizes(WHOLE[what] // divided) for what in ("materials", "events"))
    out = [f"# Scale, {dt.datetime.now(dt.UTC):%Y-%m-%d}", "", *machine(), ""]
    out.append(
        "Milliseconds of user time of a fresh process; of a page, those of the processor when it is asked "
        "for again."
    )
    if "catalogue" in parts:
        held, seen = by_materials(woods, folder)
        out += ["", table(held, "materials"), "", table(seen, "materials")]
    if "book" in parts:
        held, seen, told = by_events(events, folder)
        out += ["", *told, "", table(held, "events"), "", table(seen, "events")]
    if "postgres" in parts:
        server = os.environ.get("WOODREF_TEST_POSTGRES")
        out += [
            "",
            *(
                on_postgres(WHOLE["written"] // divided, server, folder)
                if server
                else ["No PostgreSQL server was named."]
            ),
        ]
    return "\n".join([*out, ""])


if __name__ == "__main__":
    main()
