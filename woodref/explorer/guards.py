"""What stands between a browser and the pages: which hosts are answered, what a page may load, and holes of
the table pages that are closed here. One wrapper round the whole application."""

from __future__ import annotations

import html
import re
from collections.abc import Awaitable, Callable, Collection, Mapping
from dataclasses import dataclass
from typing import Any
from urllib.parse import unquote_plus

from woodref.explorer.csvguard import Passing
from woodref.explorer.door import Door
from woodref.explorer.routes import is_page

Scope = Mapping[str, Any]
Send = Callable[[dict[str, Any]], Awaitable[None]]
Receive = Callable[[], Awaitable[dict[str, Any]]]
App = Callable[[Scope, Receive, Send], Awaitable[None]]

LOOPBACK = ("127.0.0.1", "localhost", "[::1]")
#: the inner pages bring scripts and styles of their own; all else, the table pages too, is of templates of
#: ours and loads nothing but our own files
INNER = re.compile(r"^/-/")
STRICT = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; "
    "form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
INNER_PAGES = (
    "default-src 'none'; script-src 'self' 'unsafe-inline'; style-src 'self' 'unsafe-inline'; "
    "img-src 'self' data:; connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
HEADERS = (
    (b"x-content-type-options", b"nosniff"), (b"x-frame-options", b"DENY"),
    (b"referrer-policy", b"no-referrer"),
    (b"cross-origin-opener-policy", b"same-origin"), (b"cross-origin-resource-policy", b"same-origin"),
    (b"permissions-policy", b"camera=(), microphone=(), geolocation=()"),
)  # fmt: skip
CATALOGUE = "/catalogue"
#: pages that tell paths and versions of this machine, the only inner ones that are of use to a reader
TELLING = re.compile(r"^/-/(?:versions|plugins|settings|databases|threads|metadata)(?:\.json)?$")
READS = ("GET", "HEAD")


@dataclass(frozen=True)
class Rules:
    """hosts: names that are answered, with or without a port; word: of a link that opens the door from other
    machines, None on loopback; public: tables, SQL and downloads are closed."""

    hosts: Collection[str] = LOOPBACK
    word: str | None = None
    public: bool = False


def guarded(app: App, rules: Rules) -> App:
    """The application behind its guards."""
    door = None if rules.word is None else Door(rules.word)

    async def wrapped(scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] == "lifespan":
            await app(scope, receive, send)
            return
        if scope["type"] != "http":  # nothing here talks otherwise
            await send({"type": "websocket.close", "code": 1008})
            return
        refusal = refused(scope, rules)
        if refusal is not None:
            await _say(send, *refusal)
            return
        if door is not None:
            met = await door.meet(scope, _all(scope, b"cookie", "; "))
            if met.to is not None:
                await _say(
                    send, 303, "The page is one step on.", (b"location", met.to.encode()), *met.headers
                )
                return
            if met.refusal is not None:
                await _say(send, *met.refusal, *met.headers)
                return
        closed = _closed(scope, rules)
        if closed is not None:
            await _say(send, *closed)
            return
        policy = INNER_PAGES if INNER.match(tilde_read(routed(scope))) else STRICT
        passing: list[Passing] = []

        async def with_headers(message: dict[str, Any]) -> None:
            if message["type"] == "http.response.start":
                heads = _kept(message.get("headers", ()))
                if _is_table_csv(scope, heads):
                    passing.append(Passing())
                    heads = [(key, value) for key, value in heads if key.lower() != b"content-length"]
                message = {**message, "headers": [*heads, *HEADERS,
                           (b"content-security-policy", policy.encode())]}  # fmt: skip
            elif passing:
                last = not message.get("more_body", False)
                message = {**message, "body": passing[0].feed(message.get("body", b""), last)}
            await send(message)

        await app(scope, receive, with_headers)

    return wrapped


def _is_table_csv(scope: Scope, headers: list[tuple[bytes, bytes]]) -> bool:
    """CSV that the table pages write; that of our own pages is safe as it is made."""
    kind = next((value for key, value in headers if key.lower() == b"content-type"), b"")
    path = tilde_read(routed(scope))
    return (
        path.startswith(CATALOGUE) and path.endswith(".csv") and kind.startswith((b"text/csv", b"text/plain"))
    )


def refused(scope: Scope, rules: Rules) -> tuple[int, str] | None:
    """(status, sentence) for what is answered to nobody; None for what may go on."""
    hosts = _values(scope, b"host")
    if len(hosts) != 1 or _name(hosts[0]) not in rules.hosts:
        return 421, "This explorer answers only to the address it printed when it was started."
    if str(scope.get("method", "GET")) not in READS:
        return 405, "The explorer only reads. Records are written with the commands."
    if _from_another_site(scope, hosts[0]):
        return 403, "Another site may not read this explorer."
    path = routed(scope)
    if not path.isascii():
        return 400, "The address cannot be read."
    if not path.startswith("/") or re.match(r"(?i)/(?:/|\\|%2f|%5c|~2f|~5c|%09|%0[ad])", path):
        return 404, "There is no such page."
    if "\\" in path or re.search(r"(?i)%5c|%0[0ad]", path):
        return 404, "There is no such page."
    return None


def _closed(scope: Scope, rules: Rules) -> tuple[int, str] | None:
    """(status, sentence) for what is closed to whoever may come in."""
    path = routed(scope)
    if rules.public and not (is_page(path) or path.startswith("/assets/")):
        # what is open is named: tables answer to more spellings than anybody can list
        if INNER.match(path) or tilde_read(path).startswith("/catalogue") or path.startswith("/."):
            return 403, "Tables, SQL and downloads are closed while others can reach this explorer."
        return 404, "There is no such page."
    if re.match(r"/(?:[_:]|favicon\.ico$)", tilde_read(path)) or (
        INNER.match(path) and not TELLING.match(path)
    ):
        return 404, "There is no such page."
    if INNER.match(path) and _name(_values(scope, b"host")[0]) not in LOOPBACK:
        return 403, "That page is for the machine itself."
    return None


def routed(scope: Scope) -> str:
    """The path as the pages are chosen by it: as it was sent, without the query."""
    raw = scope.get("raw_path")
    return (bytes(raw).decode("latin-1") if raw else str(scope["path"])).partition("?")[0]


def tilde_read(path: str) -> str:
    """A path as the table pages read it: ~63 is a c, and so on."""
    return unquote_plus(path.replace("%", "%25").replace("~", "%"))


def _values(scope: Scope, name: bytes) -> list[str]:
    return [value.decode("latin-1") for key, value in scope.get("headers", ()) if key.lower() == name]


def _all(scope: Scope, name: bytes, between: str) -> str:
    return between.join(_values(scope, name))


def _name(host: str) -> str:
    """A Host header without its port."""
    return re.sub(r":\d{1,5}$", "", host.strip()).lower()


def _from_another_site(scope: Scope, host: str) -> bool:
    """Whether a page of another site, or of another program on this machine, asks in a person's browser. A
    link that the person follows is no such thing."""
    site = _all(scope, b"sec-fetch-site", " ")
    if site in ("cross-site", "same-site"):
        went = _all(scope, b"sec-fetch-mode", " ") == "navigate"
        return not (went and _all(scope, b"sec-fetch-dest", " ") in ("document", ""))
    origins = _values(scope, b"origin")
    return any(origin.partition("://")[2].lower() != host.strip().lower() for origin in origins)


def _kept(headers: Any) -> list[tuple[bytes, bytes]]:
    ours = {key for key, _ in HEADERS} | {b"content-security-policy"}
    return [(key, value) for key, value in headers if key.lower() not in ours]


async def _say(send: Send, status: int, sentence: str, *more: tuple[bytes, bytes]) -> None:
    """A page of one sentence, which a phone can read too."""
    body = (
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        "<title>Not answered - woodref</title>\n</head>\n<body>\n<main>\n<h1>Not answered</h1>\n"
        f"<p>{html.escape(sentence)}</p>\n</main>\n</body>\n</html>\n"
    ).encode()
    headers = [
        (b"content-type", b"text/html; charset=utf-8"), (b"content-length", str(len(body)).encode()),
        (b"cache-control", b"no-store"), *HEADERS, (b"content-security-policy", STRICT.encode()), *more,
    ]  # fmt: skip
    if status == 405:
        headers.append((b"allow", ", ".join(READS).encode()))
    await send({"type": "http.response.start", "status": status, "headers": headers})
    await send({"type": "http.response.body", "body": body})
