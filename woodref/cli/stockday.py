"""`woodref stock day`: what the slips of a day say, from a file or asked for one by one."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from woodref.cli.common import book_option, guarded, json_option, print_json, print_notices, say, table
from woodref.cli.recording import to_record
from woodref.errors import BadRequest, WoodrefError

if TYPE_CHECKING:
    from woodref.provenance.dayfile import Slip
    from woodref.provenance.daywork import Day, Worked


def _example(context: click.Context, _: click.Parameter, wanted: bool) -> None:
    """A commented day of the invented workshop."""
    if not wanted or context.resilient_parsing:
        return
    from woodref.provenance.dayfile import EXAMPLE

    click.echo(EXAMPLE, nl=False)
    context.exit()


@click.command("day")
@click.argument("file", required=False, type=click.Path(dir_okay=False, allow_dash=True, path_type=Path))
@click.option("--example", is_flag=True, is_eager=True, expose_value=False, callback=_example,
              help="Print a commented day to begin from, and stop.")  # fmt: skip
@click.option("--day", "on", metavar="DATE", help="The day of every clock, where the file does not say it.")
@click.option("--actor", metavar="ID", help="Who did it, where a slip does not say: an id, never a name.")
@book_option
@json_option
@guarded
def day(file: Path | None, on: str | None, actor: str | None, book: str | None, as_json: bool) -> None:
    """Record a day's cutting slips: all of FILE (YAML, or -), or none. Without FILE it asks for them one by
    one and writes at the end.

    \b
    Example: woodref stock day monday.yaml
    """
    from woodref.provenance.dayfile import read_day, slips_of
    from woodref.provenance.daywork import day_of
    from woodref.provenance.store import open_book

    asked = file is None
    if asked and (as_json or not _at_a_terminal()):
        raise BadRequest(
            "there is no file of slips", where="stock day", expected="a file, or - for standard input",
            next="woodref stock day --example prints one; on a terminal, without --json, it asks.",
        )  # fmt: skip
    with open_book(book, read_only=True) as store:
        if file is None:
            worked = _ask_all(store, on, actor)
        else:
            name = "standard input" if str(file) == "-" else str(file)
            worked = day_of(store, slips_of(read_day(file), name, on))
    if asked and not _agreed(worked):
        say("Nothing was recorded.")
        return
    with to_record(book) as store:
        recorded = worked.record(store, actor)
    if as_json:
        print_json(worked.as_dict(recorded))
        return
    if not asked:
        for number, slip in enumerate(worked.worked, 1):
            _tell(number, slip)
        print_notices(worked.notices())
        _balances(worked)
    for line in worked.sentences():
        say(line)


def _at_a_terminal() -> bool:
    return sys.stdin.isatty()


def _tell(number: int, worked: Worked) -> None:
    lead = f"{number}. "
    say(" ".join(worked.sentences()), indent=lead, hang=" " * len(lead))


def _balances(worked: Day) -> None:
    head, rows = worked.table()
    if rows:
        table(head, rows, right={1, 2, 3, 4, 5}, spare=(5,))


def _agreed(worked: Day) -> bool:
    if not worked.fresh:
        return False
    _balances(worked)
    return click.confirm(f"Record {'this slip' if len(worked.fresh) == 1 else 'these slips'}?")


def _ask_all(store: Any, on: str | None, actor: str | None) -> Day:
    """Slip after slip, each worked out as soon as it is told; one that cannot be is told and asked anew."""
    from woodref.provenance.dayfile import SHAPES
    from woodref.provenance.daywork import Day
    from woodref.units import today

    worked = Day(store)
    told: dict[str, str | None] = {"day": on or today().isoformat(), "who": actor, "time": None}
    say(f"Slips of {told['day']}. Nothing is written before you agree at the end; Ctrl-C leaves it all.")
    while True:
        number = len(worked.worked) + 1
        kind = click.prompt(f"Slip {number}, the work ({', '.join(SHAPES)}; nothing when done)", default="",
                            show_default=False).strip().lower()  # fmt: skip
        if not kind:
            return worked
        if kind not in SHAPES:
            say(f"{kind} is no work that a slip tells.", err=True)
            continue
        try:
            slip = _ask(kind, number, told)
            done = worked.add(slip)
            _tell(number, done)
            print_notices(done.notices())
            told["who"] = slip.who
        except WoodrefError as fault:
            say(str(fault), err=True)
            for c in fault.candidates:
                say(f"  {c.name}: {c.says}", err=True, hang="    ")


def _ask(kind: str, number: int, told: dict[str, str | None]) -> Slip:
    """One slip, read by the same strict reader as a file."""
    from dataclasses import replace

    from woodref.provenance.dayfile import SHAPES, slips_of

    answers: dict[str, Any] = {}
    for key, holds, needed, example in SHAPES[kind]:
        ask = _words if holds == "text" else _lots
        got = ask(key, needed, example)
        if got:
            answers[key] = got
    for key, says in (
        ("note", "note (nothing for none)"),
        ("who", "who, initials"),
        ("time", "time, as 09:20"),
    ):
        default = told.get(key) or ""
        if got := click.prompt(f"  {says}", default=default, show_default=bool(default)).strip():
            answers[key] = got
    body = json.dumps([{kind: answers}], ensure_ascii=False).encode("utf-8", "replace")
    slip = replace(slips_of(body, f"slip {number}", told["day"])[0], where=f"slip {number}")
    told["time"] = answers.get("time")
    return slip


def _words(key: str, needed: bool, example: str) -> str:
    says = f"  {key}, such as {example}{'' if needed else ' (nothing for none)'}"
    said = click.prompt(says) if needed else click.prompt(says, default="", show_default=False)
    return str(said).strip()


def _lots(key: str, needed: bool, example: str) -> dict[str, str]:
    """Lots one by one, LOT=AMOUNT; an empty line ends them."""
    out: dict[str, str] = {}
    prompt: Callable[..., str] = click.prompt
    while True:
        more = f"  {key}, such as {example.replace(': ', '=')}"
        said = prompt(
            more if not out else f"  {key}, the next (nothing when done)", default="", show_default=False
        ).strip()
        lot, equals, amount = (part.strip() for part in said.partition("="))
        if not said and (out or not needed):
            return out
        if not lot or not equals or not amount:
            say("LOT=AMOUNT is wanted.", err=True)
        elif lot in out:
            say(f"{lot} is told already.", err=True)
        else:
            out[lot] = amount
