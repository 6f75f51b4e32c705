"""`woodref listings`."""

from __future__ import annotations

import click

from woodref.cli.common import csv_option, guarded, json_option, print_csv, print_json, print_notices, say


@click.command("listings")
@click.argument("taxon", required=False)
@click.option("--on", metavar="DATE", help="The day asked about, YYYY-MM-DD; usual: today.")
@click.option("--since", metavar="DATE", help="Only what began or ended after this day.")
@csv_option
@json_option
@guarded
def command(taxon: str | None, on: str | None, since: str | None, as_csv: bool, as_json: bool) -> None:
    """Which woods are listed on a day; with --since, what changed.

    TAXON narrows the list to a genus or species (botanical name).

    \b
    Example: woodref listings --since 2024-01-01
    """
    from woodref.catalogue.reader import open_catalogue
    from woodref.errors import BadRequest
    from woodref.selection.status import law_caution, law_notices
    from woodref.trade.changes import changes, in_force
    from woodref.trade.listings import said_of
    from woodref.units import date, today

    day = date(on, "--on") if on else today()
    start = date(since, "--since") if since else None
    if start and start >= day:
        raise BadRequest(f"--since {start} is not before {day}", expected="an earlier day")
    with open_catalogue() as catalogue:
        law = catalogue.law
        if start:
            moved = [c for c in changes(law, start, day) if _meant(c.row.accepted, taxon)]
            sentences, rows = [c.sentence for c in moved], [c.as_dict() for c in moved]
        else:
            standing = [r for r in in_force(law, day) if _meant(r.accepted, taxon)]
            sentences, rows = [said_of(r) for r in standing], [r.as_dict() for r in standing]
        notices = [*catalogue.notices, *law_notices(day, catalogue)]
        caution, stamp = law_caution(catalogue), catalogue.stamp
    if as_json:
        query = {"taxon": taxon, "on": day.isoformat(), "since": start.isoformat() if start else None}
        print_json(
            {
                "query": query,
                "count": len(rows),
                "rows": rows,
                "caution": caution,
                "notices": [n.as_dict() for n in notices],
                "catalogue": stamp,
            }
        )
        return
    if as_csv:
        print_csv(rows)
        return
    print_notices(notices)
    for sentence in sentences:
        say(sentence, hang="    ")
    if not sentences:
        say("Nothing changed in that span, as far as our rows go." if start else "No row stands on that day.")
    say(caution)


def _meant(accepted: str, taxon: str | None) -> bool:
    """Whether a row speaks of the taxon asked for: the same name, its genus, or a species of it."""
    if taxon is None:
        return True
    asked = taxon.replace(" spp.", "").strip().casefold()
    name = accepted.casefold()
    return name == asked or name == asked.split(" ")[0] or name.startswith(f"{asked} ")
