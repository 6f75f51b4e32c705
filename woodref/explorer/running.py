"""Serving the explorer from this process until it is stopped: for this machine alone, or for phones in the
shop."""

from __future__ import annotations

import socket
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from woodref.explorer.asking import Shop
from woodref.explorer.door import FIELD, new_word
from woodref.explorer.guards import Rules
from woodref.explorer.network import ANYWHERE, bound, names_for

HOST = "127.0.0.1"
#: how long answers under way may take once it is stopped [s]
ENDING = 3
WHITE_ON_BLACK, PLAIN = "\x1b[97;40m", "\x1b[0m"

Say = Callable[[str], None]


@dataclass(frozen=True)
class Opened:
    """What is served where. links: whole addresses, the first to be shown; rules: who is answered."""

    listening: socket.socket
    links: Sequence[str]
    rules: Rules

    @property
    def port(self) -> int:
        return int(self.listening.getsockname()[1])


def for_this_machine(port: int) -> Opened:
    """Listening on this machine alone. BadRequest when the port is taken."""
    listening = bound(HOST, port)
    return Opened(listening, [f"http://{HOST}:{listening.getsockname()[1]}/"], Rules())


def for_phones(address: str | None, port: int) -> Opened:
    """Listening on the shop's network, on every address of this machine or on the one named. BadRequest when
    there is none, or the port is taken."""
    names = names_for(address or ANYWHERE)
    listening = bound(address or ANYWHERE, port)
    word, taken = new_word(), listening.getsockname()[1]
    links = [f"http://{name}:{taken}/?{FIELD}={word}" for name in names]
    return Opened(listening, links, Rules(frozenset(names), word, public=True))


def who_sees(opened: Opened, shop: Shop, with_shelf: bool) -> list[str]:
    """Who can see what while phones are let in, and how it ends."""
    what = "the woods, the glues and the rules of trade"
    if shop.book_copy is not None:
        items = "the published items and the shelf" if with_shelf else "the published items"
        what = f"{what}, and of {shop.book_copy.name} {items}"
    others = [link.partition("?")[0] for link in opened.links[1:]]
    also = [f"This machine is also reached at {' and '.join(others)}, with the same word."] if others else []
    return [
        *also,
        f"Whoever has this link and is on the same network can read {what}. Nothing can be written; tables, "
        "SQL and downloads are closed; prices, suppliers and persons are in none of it.",
        "The way is not encrypted: others on that network could listen. Use the shop's own network, not a "
        "public one.",
        "If the phone finds nothing, it is on another network, or the firewall of this machine does not let "
        f"port {opened.port} in.",
        "Control-C stops it, and the link is worth nothing afterwards.",
    ]


def qr_drawn(link: str, encoding: str | None, columns: int) -> str | None:
    """The link as a code to hold a phone at, for a terminal; None where the terminal cannot show it."""
    import io

    import segno

    out = io.StringIO()
    segno.make(link, error="m", micro=False).terminal(out, compact=True)
    lines = out.getvalue().rstrip("\n").split("\n")
    try:
        "".join(lines).encode(encoding or "ascii")
    except (LookupError, UnicodeEncodeError):
        return None
    if code_width(link) > columns:
        return None
    # white on black whatever the terminal's colours are: dark on light is not read by every phone
    return "\n".join(f"{WHITE_ON_BLACK}{line}{PLAIN}" for line in lines)


def code_width(link: str) -> int:
    """Columns of the code with its quiet zone."""
    import segno

    return int(segno.make(link, error="m", micro=False).symbol_size()[0])


def serve(shop: Shop, opened: Opened, say: Say, show: bool) -> None:
    """Answer until Control-C. show: also open it in the browser of this machine."""
    import gc
    import logging

    import uvicorn

    from woodref.explorer.serving import app_of, explorer

    # a command looks for circles of values seldom; what runs for days must not gather them
    gc.set_threshold(2_000, 10, 10)
    made = explorer(shop, opened.rules)
    config = uvicorn.Config(
        app_of(made), log_level="error", lifespan="on", access_log=False, ws="none", proxy_headers=False,
        server_header=False, timeout_graceful_shutdown=ENDING,
    )  # fmt: skip
    # that somebody's page was still open when it was stopped is no fault
    mute = logging.getLogger("uvicorn.error").addFilter
    mute(lambda told: "graceful shutdown exceeded" not in str(told.msg))
    if show:
        _show(opened.links[0], say)
    try:
        uvicorn.Server(config).run(sockets=[opened.listening])
    except KeyboardInterrupt:  # handed on by the server once it has ended
        pass
    finally:
        opened.listening.close()
    say("Stopped.")


def _show(link: str, say: Say) -> None:
    """Open the browser beside the server: some browsers keep whoever starts them waiting."""
    import threading
    import webbrowser

    def opened() -> None:
        if not webbrowser.open(link):
            say("No browser could be started here: open the address yourself.")

    threading.Thread(target=opened, daemon=True).start()
