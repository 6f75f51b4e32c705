"""Serving the explorer from this process until it is stopped."""

from __future__ import annotations

import socket
from collections.abc import Callable

from woodref.errors import BadRequest
from woodref.explorer.asking import Shop
from woodref.explorer.guards import Rules

HOST = "127.0.0.1"


def bound(host: str, port: int) -> socket.socket:
    """A socket that listens there. BadRequest when something else does."""
    made = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    made.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        made.bind((host, port))
    except OSError as fault:
        made.close()
        raise BadRequest(
            f"port {port} of {host} cannot be had ({fault.strerror})", where="--port",
            next="Name another, or 0 for a free one.",
        ) from None  # fmt: skip
    return made


def run(shop: Shop, port: int, show: bool, say: Callable[[str], None], rules: Rules | None = None) -> None:
    """Serve on this machine alone until Control-C."""
    import uvicorn

    from woodref.explorer.serving import app_of, explorer

    listening = bound(HOST, port)
    address = f"http://{HOST}:{listening.getsockname()[1]}/"
    made = explorer(shop, rules)
    config = uvicorn.Config(app_of(made), log_level="warning", lifespan="on", access_log=False)
    say(f"woodref is open at {address} on this machine alone. Control-C stops it.")
    if show:
        import webbrowser

        webbrowser.open(address)
    uvicorn.Server(config).run(sockets=[listening])
    say("Stopped.")
