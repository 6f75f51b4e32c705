"""Where this machine is reached on the network of the shop, and sockets that listen there."""

from __future__ import annotations

import errno
import ipaddress
import os
import socket
from contextlib import suppress

from woodref.errors import BadRequest

ANYWHERE = "0.0.0.0"  # noqa: S104 -- only ever bound when a person asks for it
#: an address for documentation only: asking for the way to it sends nothing
_FAR = ("192.0.2.1", 9)


def own_addresses() -> list[str]:
    """Addresses of this machine that others may reach it by (IPv4), that of the way out first."""
    found: list[str] = []
    # without a way out there is none to be told: a shop network need not have one
    with suppress(OSError), socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asked:
        asked.connect(_FAR)
        found.append(str(asked.getsockname()[0]))
    with suppress(OSError):
        known = socket.getaddrinfo(socket.gethostname(), None, socket.AF_INET)
        found += [str(info[4][0]) for info in known]
    return [address for address in dict.fromkeys(found) if _reached(address)]


def _reached(address: str) -> bool:
    told = ipaddress.ip_address(address)
    return not (told.is_loopback or told.is_unspecified or told.is_link_local or told.is_multicast)


def names_for(address: str) -> list[str]:
    """Names for links when this address or host name is listened on. BadRequest when nothing on a network
    would reach it."""
    if address == ANYWHERE:
        found = own_addresses()
        if not found:
            raise BadRequest(
                "this machine has no address on a network", where="--phone",
                next="Join the network of the shop, or name the address with --address.",
            )  # fmt: skip
        return found
    try:
        told = ipaddress.ip_address(address)
    except ValueError:
        return [address.lower()]
    if told.is_loopback:
        raise BadRequest(
            f"{address} is this machine alone: no phone reaches it", where="--address",
            next="Leave --address out to be reached on every address of this machine.",
        )  # fmt: skip
    return [f"[{told}]" if told.version == 6 else str(told)]


def bound(host: str, port: int) -> socket.socket:
    """A socket that listens there. BadRequest, with what stands in the way, when it cannot."""
    try:
        family, _, _, _, place = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM)[0]
    except (OSError, UnicodeError):
        raise BadRequest(f"no machine is called {host}", where="--address") from None
    made = socket.socket(family, socket.SOCK_STREAM)
    if os.name == "posix":  # elsewhere it would let two programs listen at one port
        made.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        made.bind(place)
        made.listen(100)
    except OSError as fault:
        made.close()
        raise _cannot(host, port, fault) from None
    return made


def _cannot(host: str, port: int, fault: OSError) -> BadRequest:
    if fault.errno == errno.EADDRINUSE:
        return BadRequest(
            f"port {port} is taken: another program, or another explorer, listens there", where="--port",
            next="Name another port, or 0 for a free one.",
        )  # fmt: skip
    if fault.errno == errno.EADDRNOTAVAIL:
        return BadRequest(f"{host} is no address of this machine", where="--address")
    return BadRequest(
        f"port {port} of {host} cannot be had ({fault.strerror})", where="--port",
        next="Name another, or 0 for a free one.",
    )  # fmt: skip
