"""`woodref data import`, `data lists`, `data drop`: lists of the user's own beside the catalogue."""

from __future__ import annotations

from pathlib import Path

import click

from woodref.cli.common import csv_option, guarded, json_option, print_csv, print_json, say


@click.command("import")
@click.argument("file", metavar="FILE.csv", type=click.Path(path_type=Path))
@click.option(
    "--map",
    "map_file",
    metavar="MAP.yaml",
    required=True,
    type=click.Path(path_type=Path),
    help="What each column means, where the list is from, how it writes numbers.",
)
@click.option("--replace", is_flag=True, help="Put it in place of the list of the same id.")
@click.option("--leave-out-faulty", is_flag=True, help="Leave rows with a fault out, and say which and why.")
@json_option
@guarded
def bring(file: Path, map_file: Path, replace: bool, leave_out_faulty: bool, as_json: bool) -> None:
    """Bring in a list of your own: a seller's list with prices, an open set of densities.

    It is kept in a file of its own beside the catalogue, as my/LIST/ROW, and changes no figure there. A list
    with a fault is not brought in at all, unless its faulty rows are left out. The map is YAML; data/demo/
    holds a list with its map.

    \b
    list, title     id of the list (small letters and hyphens), what it is
    source          title, licence, date, got (how it came into the shop)
    columns         name, botanical, cut: COLUMN; note: COLUMN or several
      density       {column, unit, moisture: 12, green, air-dry, oven-dry,
                    basic or not-stated, evidence}; stiffness likewise
      price         {column, currency: EUR, per: m2, m3, leaf, kg or {column}}
      thickness     {column, unit}
    leave-out       columns that are not taken; every column must be named
    decimal, thousands, separator, empty (words for an empty cell)

    \b
    Example: woodref data import data/demo/lists/harrow-veneers.csv --map data/demo/lists/harrow-veneers.yaml
    """
    from woodref.catalogue.ownimport import bring_in

    done = bring_in(file, map_file, leave_out_faulty, replace)
    if as_json:
        print_json(done.as_dict())
        return
    for sentence in done.sentences:
        say(sentence)
    for fault in done.faults:
        say(fault, indent="  ", hang="    ")
    for sentence in done.closing:
        say(sentence)


@click.command("lists")
@csv_option
@json_option
@guarded
def lists(as_csv: bool, as_json: bool) -> None:
    """The lists of your own that are kept: rows, source, day and digest of each.

    \b
    Example: woodref data lists
    """
    from woodref.catalogue.ownstore import kept_lists

    found = kept_lists()
    rows = [held.as_dict() for held in found.lists]
    if as_json:
        print_json({"query": {}, "count": len(rows), "rows": rows, "notices": found.notices_as_dicts()})
        return
    for notice in found.unreadable:
        say(f"Note: {notice}", err=True, hang="  ")
    if as_csv:
        print_csv(rows)
        return
    for sentence in found.sentences:
        say(sentence, hang="    ")


@click.command("drop")
@click.argument("list_id", metavar="LIST")
@json_option
@guarded
def drop(list_id: str, as_json: bool) -> None:
    """Remove a list of your own, with all its rows. The catalogue stays as it is.

    \b
    Example: woodref data drop harrow-veneers
    """
    from woodref.catalogue.ownstore import drop as removed
    from woodref.catalogue.ownstore import dropped_words

    held = removed(list_id)
    if as_json:
        print_json({"list": held.as_dict() if held else None, "id": list_id, "notices": []})
        return
    say(dropped_words(list_id, held))
