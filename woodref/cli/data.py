"""`woodref data`: check, build, new, sources, coverage, export; diff and lists have files of their own."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

import click

from woodref.catalogue.material import KINDS
from woodref.catalogue.reader import Notice
from woodref.cli import datadiff, datalists
from woodref.cli.common import count, guarded, json_option, print_json, print_notices, say, table

_folder = click.option(
    "--data",
    "folder",
    type=click.Path(file_okay=False, path_type=Path),
    help="Another data folder; usual: the one woodref was installed with, or WOODREF_DATA.",
)


@click.group("data")
def command() -> None:
    """Check, build, extend and count the catalogue; keep lists of your own beside it."""


for _part in (datadiff.command, datalists.bring, datalists.lists, datalists.drop):
    command.add_command(_part)


@command.command("check")
@_folder
@click.option("--strict", is_flag=True, help="Warnings count as errors: exit 1 on any of them.")
@json_option
@guarded
def check(folder: Path | None, strict: bool, as_json: bool) -> None:
    """Say everything that is wrong with the data, each with file and line; exit 1 on an error.

    \b
    Example: woodref data check
    """
    from woodref.catalogue.check import load_all
    from woodref.catalogue.findings import errors
    from woodref.paths import data_dir

    loaded = load_all(folder or data_dir())
    wrong = errors(loaded.findings)
    fatal = loaded.findings if strict else wrong
    summary = (
        f"{count(len(loaded.materials), 'material')} read, {count(len(wrong), 'error')}, "
        f"{count(len(loaded.findings) - len(wrong), 'warning')}."
    )
    if as_json:
        print_json(
            {
                "query": {"folder": str(folder or data_dir()), "strict": strict},
                "count": len(loaded.findings),
                "rows": [f.as_dict() for f in loaded.findings],
                "materials": len(loaded.materials),
                "notices": [],
            }
        )
    else:
        for finding in loaded.findings:
            click.echo(str(finding))
        click.echo(summary + (" Here warnings count as errors." if len(fatal) > len(wrong) else ""))
    sys.exit(1 if fatal else 0)


@command.command("build")
@_folder
@json_option
@guarded
def build(folder: Path | None, as_json: bool) -> None:
    """Build the catalogue now (it is otherwise built when first needed).

    \b
    Example: woodref data build
    """
    from woodref.catalogue.reader import open_catalogue

    with open_catalogue(folder) as catalogue:
        materials = len(catalogue.ids())
        stamp, where, notices = catalogue.stamp, catalogue.path, catalogue.notices
    if as_json:
        print_json(
            {
                "materials": materials,
                "path": str(where),
                "notices": [n.as_dict() for n in notices],
                "catalogue": stamp,
            }
        )
    else:
        print_notices(notices)
        click.echo(f"{materials} materials, version {stamp['version']}, digest {stamp['digest']}")
        click.echo(str(where))
    if any(n.code == "data-have-errors" for n in notices):
        sys.exit(1)


@command.command("new")
@click.argument("material_id", metavar="ID")
@click.option(
    "--kind",
    type=click.Choice(KINDS),
    default="species",
    show_default=True,
)
@click.option("--name", help="The trade name printed first.")
@click.option("--botanical", help="Botanical name; usual: made from the id.")
@click.option("--family", help="Botanical family.")
@click.option("--base", metavar="ID", help="Base wood of an engineered or modified sheet.")
@click.option("--softwood", is_flag=True, help="A softwood in the botanical sense.")
@_folder
@json_option
@guarded
def new(
    material_id: str,
    kind: str,
    name: str | None,
    botanical: str | None,
    family: str | None,
    base: str | None,
    softwood: bool,
    folder: Path | None,
    as_json: bool,
) -> None:
    """Write the skeleton of a new material file; it passes the check as it stands.

    \b
    Example: woodref data new ulmus-glabra --name "wych elm" --family Ulmaceae
    """
    from woodref.catalogue.scaffold import skeleton, write_new
    from woodref.paths import data_dir

    text = skeleton(material_id, kind, name, botanical, family, base, softwood)
    path = write_new(folder or data_dir(), material_id, kind, text)
    if as_json:
        print_json({"id": material_id, "kind": kind, "path": str(path), "notices": []})
        return
    click.echo(f"{path} written. Fill it in, then run: woodref data check")


@command.command("fields")
@click.argument("name", required=False)
@json_option
@guarded
def fields(name: str | None, as_json: bool) -> None:
    """What every file and field of data/ means: type, allowed words, unit, and whether it must be there.

    NAME narrows it to a file, a block, a field or a property, such as adhesives, veneer, tannin or moe.

    \b
    Example: woodref data fields veneer
    """
    from woodref.catalogue import explained
    from woodref.catalogue.fieldwords import file_kinds
    from woodref.catalogue.properties import PROPERTIES

    kinds, properties = explained.narrowed(name) if name else (file_kinds(), list(PROPERTIES.values()))
    if as_json:
        rows = explained.as_rows(kinds)
        print_json(
            {
                "query": {"name": name},
                "count": len(rows),
                "rows": rows,
                "properties": explained.as_property_rows(properties),
                "notices": [],
            }
        )
        return
    click.echo(explained.part(kinds, properties) if name else explained.page(), nl=False)


@command.command("sources")
@click.option(
    "--format",
    "form",
    type=click.Choice(["text", "json", "bibtex", "csl"]),
    help="text is usual; bibtex and csl (JSON) are for a bibliography, without the rules of our own.",
)
@json_option
@guarded
def sources(form: str | None, as_json: bool) -> None:
    """Every document and rule cited, with how it was seen and how many figures rest on it.

    \b
    Example: woodref data sources --format bibtex
    """
    from woodref.catalogue.bibliography import bibliography
    from woodref.catalogue.reader import open_catalogue
    from woodref.errors import BadRequest

    if as_json and form not in (None, "json"):
        raise BadRequest(f"--json and --format {form} ask for two forms", expected="one of them")
    with open_catalogue() as catalogue:
        rows = bibliography(catalogue)
        stamp, notices = catalogue.stamp, catalogue.notices
    if form in ("bibtex", "csl"):
        _print_citing([row.source for row in rows], form, stamp, notices)
        return
    if as_json or form == "json":
        print_json(
            {
                "query": {},
                "count": len(rows),
                "rows": [row.as_dict() for row in rows],
                "notices": [n.as_dict() for n in notices],
                "catalogue": stamp,
            }
        )
        return
    print_notices(notices)
    for row in rows:
        say(row.sentence, hang="    ")


def _print_citing(
    every: list[dict[str, Any]], form: str, stamp: dict[str, str], notices: list[Notice]
) -> None:
    """The sources for a bibliography program; what is left out is said on stderr."""
    from woodref.catalogue.citing import bibtex, csl, printable

    rules = len(every) - len(printable(every))
    print_notices(notices)
    if rules:
        message = (
            f"{count(rules, 'rule')} of our own left out: no document to look up. For a figure worked out by "
            f"one, cite woodref {stamp['version']}, digest {stamp['digest']}."
        )
        print_notices([Notice("rules-left-out", message)])
    if form == "bibtex":
        # BibTeX passes over what stands between entries
        click.echo(f"% woodref {stamp['version']}, digest {stamp['digest']}\n\n{bibtex(every)}", nl=False)
    else:
        print_json(csl(every))


@command.command("coverage")
@click.option("--each", is_flag=True, help="One line a material, the least known first.")
@json_option
@guarded
def coverage(each: bool, as_json: bool) -> None:
    """How many materials have each figure and by what evidence; how often nothing is known.

    \b
    Example: woodref data coverage
    """
    from woodref.catalogue import coverage as counting
    from woodref.catalogue.reader import open_catalogue

    with open_catalogue() as catalogue:
        found = counting.coverage(catalogue)
        notices = catalogue.notices
    if as_json:
        print_json(found.as_dict() | {"notices": [n.as_dict() for n in notices]})
        return
    print_notices(notices)
    if each:
        head, rows = counting.material_rows(found)
        table(head, rows, set(range(1, len(head))))
        return
    head, rows = counting.table_rows(found)
    kinds = ", ".join(f"{n} {kind}" for kind, n in found.by_kind.items())
    click.echo(f"{found.materials} materials: {kinds}.")
    table(head, rows, set(range(1, len(head))))
    click.echo()
    click.echo("Not known, of all materials:")
    for key, unknown, share in counting.unknown_rows(found):
        click.echo(f"  {key}: {unknown} ({share})")


@command.command("export")
@click.argument("folder", type=click.Path(file_okay=False, path_type=Path))
@click.option(
    "--format", "form", type=click.Choice(["csv", "json", "sqlite"]), default="csv", show_default=True
)
@click.option("--mark", is_flag=True, help="Begin CSV files with the UTF-8 mark some spreadsheets want.")
@json_option
@guarded
def export_files(folder: Path, form: str, mark: bool, as_json: bool) -> None:
    """Write the whole catalogue into a folder: wide table with a units row, long table with sources.

    \b
    Example: woodref data export out --format csv
    """
    from woodref.catalogue.export import export
    from woodref.catalogue.reader import open_catalogue

    with open_catalogue() as catalogue:
        files = export(catalogue, form, folder, mark)
        stamp, notices = catalogue.stamp, catalogue.notices
    if as_json:
        told = [n.as_dict() for n in notices]
        print_json({"files": [str(f) for f in files], "notices": told, "catalogue": stamp})
        return
    print_notices(notices)
    for path in files:
        click.echo(str(path))
