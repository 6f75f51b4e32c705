"""`woodref`: one file a command, loaded only when it is called."""

from __future__ import annotations

import gc
import importlib
import os
import sys
from collections.abc import Sequence
from typing import Any

import click

from woodref.version import __version__

#: command -> module below woodref.cli and its short help (so that --help loads nothing)
COMMANDS = {
    "show": ("show", "One wood or glue: what it is, may I, can I get it, how it looks and behaves."),
    "find": ("find", "Woods within limits, by name, or like a colour; all glues."),
    "compare": ("compare", "Two to six woods side by side."),
    "substitute": ("substitute", "What may lawfully stand in for a wood, ranked and explained."),
    "layup": (
        "layup",
        "A pack of plies checked before it is glued: shape, bend, weight, glue, cutting, law.",
    ),
    "trade": ("trade", "Which papers a wood needs, as this item, on this journey, on this day."),
    "listings": ("listings", "Which woods are listed on a day, and what changed since another."),
    "stock": ("stock", "Lots: take one in, work on it, see what is on hand and what is known of it."),
    "item": ("item", "Items: put one together, close it, ship it, see what is in it."),
    "document": (
        "document",
        "Papers: add one to a lot, see what it covers and whether its file is the same.",
    ),
    "whence": ("whence", "Where an item or a lot came from, and how much of each received lot is in it."),
    "went-into": ("went_into", "What a lot went into: every lot and item made with some of it."),
    "sheet": ("sheet", "The customer sheet of an item: a page to print and files that anybody can check."),
    "book": ("book", "The stock book: record, check, sign, publish, back up, restore; the parties."),
    "explore": ("explore", "The same in a browser: browse, lay side by side, choose, check."),
    "data": ("data", "Check, build, extend and count the catalogue."),
}


class _Lazy(click.Group):
    """Loads a command's module when it is asked for, not before."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        if cmd_name not in COMMANDS:
            return None
        module = importlib.import_module(f"woodref.cli.{COMMANDS[cmd_name][0]}")
        command: click.Command = module.command
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        with formatter.section("Commands"):
            formatter.write_dl([(name, says) for name, (_, says) in COMMANDS.items()])

    def main(
        self,
        args: Sequence[str] | None = None,
        prog_name: str | None = None,
        complete_var: str | None = None,
        standalone_mode: bool = True,
        **extra: Any,
    ) -> Any:
        """As click does it, but a wrong command line fails in JSON where JSON was asked for."""
        # matrices of ours are small: threads of the number library would cost a third of a command's time
        os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
        # a command that reads a catalogue makes many values and few circles: look for those less often
        gc.set_threshold(200_000, 20, 20)
        words = list(sys.argv[1:] if args is None else args)
        if not (standalone_mode and "--json" in words):
            return super().main(args, prog_name, complete_var, standalone_mode, **extra)
        try:
            sys.exit(super().main(args, prog_name, complete_var, False, **extra) or 0)
        except click.UsageError as fault:
            from woodref.cli.common import print_json
            from woodref.errors import BadRequest

            where = fault.ctx.command_path if fault.ctx else None
            print_json({"error": BadRequest(fault.format_message(), where=where).as_dict()})
            sys.exit(fault.exit_code)

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        try:
            return super().resolve_command(ctx, args)
        except click.UsageError as fault:
            known = f"{fault.format_message()} Commands: {', '.join(COMMANDS)}."
            raise click.UsageError(known, ctx) from fault


@click.group(cls=_Lazy, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="woodref")
def main(**_: Any) -> None:
    """Materials reference for people who laminate wood and veneer.

    \b
    woodref substitute "Brazilian rosewood" --role face
    woodref show "black walnut"
    woodref find --with density=450..600 --plantation
    """


if __name__ == "__main__":
    main()
