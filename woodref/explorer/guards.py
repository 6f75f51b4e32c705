"""What stands between a browser and the pages: which hosts are answered, what a page may load, and holes of
the table pages that are closed here. One wrapper round the whole application."""

from __future__ import annotations

import re
from collections.abc import Awaitable, Callable, Collection, Mapping
from dataclasses import dataclass
from http.cookies import SimpleCookie
from typing import Any
from urllib.parse import parse_qsl

from woodref.explorer.csvguard import Passing

Scope = Mapping[str, Any]
Send = Callable[[dict[str, Any]], Awaitable[None]]
Receive = Callable[[], Awaitable[dict[str, Any]]]
App = Callable[[Scope, Receive, Send], Awaitable[None]]

LOOPBACK = ("127.0.0.1", "localhost", "[::1]")
#: pages of templates of our own, the table pages among them, load nothing but our own files; the inner pages
#: bring scripts and styles of their own
OURS = re.compile(r"^/(?!-/)")
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
COOKIE = "woodref_word"
#: pages that tell paths and versions of this machine, the only inner ones that are of use to a reader
INNER = re.compile(r"^/-/(?:versions|plugins|settings|databases|threads|metadata)(?:\.json)?$")


@dataclass(frozen=True)
class Rules:
    """hosts: names that are answered, with or without a port; word: of a link that opens the door from other
    machines, None on loopback; public: tables, SQL and downloads are closed."""

    hosts: Collection[str] = LOOPBACK
    word: str | None = None
    public: bool = False


def guarded(app: App, rules: Rules) -> App:
    """The application behind its guards."""

    async def wrapped(scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await app(scope, receive, send)
            return
        refusal = refused(scope, rules)
        if refusal is not None:
            await _say(send, *refusal)
            return
        cookie = _fresh_cookie(scope, rules)
        policy = STRICT if OURS.match(scope["path"]) else INNER_PAGES

        passing: list[Passing] = []

        async def with_headers(message: dict[str, Any]) -> None:
            if message["type"] == "http.response.start":
                heads = _kept(message.get("headers", ()))
                if _is_table_csv(scope, heads):
                    passing.append(Passing())
                    heads = [(key, value) for key, value in heads if key.lower() != b"content-length"]
                message = {**message, "headers": [*heads, *HEADERS,
                           (b"content-security-policy", policy.encode()), *cookie]}  # fmt: skip
            elif passing:
                last = not message.get("more_body", False)
                message = {**message, "body": passing[0].feed(message.get("body", b""), last)}
            await send(message)

        await app(scope, receive, with_headers)

    return wrapped


def _is_table_csv(scope: Scope, headers: list[tuple[bytes, bytes]]) -> bool:
    """CSV that the table pages write; that of our own pages is safe as it is made."""
    kind = next((value for key, value in headers if key.lower() == b"content-type"), b"")
    path = str(scope["path"])
    return (
        path.startswith(CATALOGUE) and path.endswith(".csv") and kind.startswith((b"text/csv", b"text/plain"))
    )


def refused(scope: Scope, rules: Rules) -> tuple[int, str] | None:
    """(status, sentence) for what is not answered; None for what is."""
    heads = {key.lower(): value.decode("latin-1") for key, value in scope.get("headers", ())}
    path, method = str(scope["path"]), str(scope.get("method", "GET"))
    host = re.sub(r":\d+$", "", heads.get(b"host", "")).lower()
    if host not in rules.hosts:
        return 421, "This explorer answers only to the address it printed when it was started."
    if method not in ("GET", "HEAD"):
        return 405, "The explorer only reads. Records are written with the commands."
    site = heads.get(b"sec-fetch-site", "none")
    if site == "cross-site" and heads.get(b"sec-fetch-mode", "navigate") != "navigate":
        return 403, "Another site may not read this explorer."
    if path.startswith("//") or "\\" in path or re.search(r"(?i)%5c|^/%2f", _raw(scope)):
        return 404, "There is no such page."
    if rules.word is not None and not _has_word(scope, heads, rules.word):
        return 403, "Open the whole link that was printed when the explorer was started: it carries a word."
    if rules.public and (path.startswith("/-/") or path.startswith("/catalogue")):
        return 403, "Tables, SQL and downloads are closed while others can reach this explorer."
    if path.startswith("/-/") and not INNER.match(path):
        return 404, "There is no such page."
    if INNER.match(path) and host not in LOOPBACK:
        return 403, "That page is for the machine itself."
    if re.match(r"^/(?:_|:|favicon\.ico$)", path):
        return 404, "There is no such page."
    return None


def _raw(scope: Scope) -> str:
    return bytes(scope.get("raw_path") or scope["path"].encode()).decode("latin-1")


def _has_word(scope: Scope, heads: Mapping[bytes, str], word: str) -> bool:
    import secrets

    given = dict(parse_qsl(bytes(scope.get("query_string", b"")).decode("latin-1"))).get("word", "")
    jar = SimpleCookie()
    try:
        jar.load(heads.get(b"cookie", ""))
    except Exception:  # a cookie that cannot be read is none
        return secrets.compare_digest(given.encode(), word.encode())
    held = jar[COOKIE].value if COOKIE in jar else ""
    return any(secrets.compare_digest(said.encode(), word.encode()) for said in (given, held))


def _fresh_cookie(scope: Scope, rules: Rules) -> list[tuple[bytes, bytes]]:
    """The word as a cookie, once the link was opened, so that the next page needs no link."""
    if rules.word is None:
        return []
    given = dict(parse_qsl(bytes(scope.get("query_string", b"")).decode("latin-1"))).get("word")
    if given is None:
        return []
    return [(b"set-cookie", f"{COOKIE}={rules.word}; Path=/; HttpOnly; SameSite=Lax".encode())]


def _kept(headers: Any) -> list[tuple[bytes, bytes]]:
    ours = {key for key, _ in HEADERS} | {b"content-security-policy"}
    return [(key, value) for key, value in headers if key.lower() not in ours]


async def _say(send: Send, status: int, sentence: str) -> None:
    body = sentence.encode()
    headers = [
        (b"content-type", b"text/plain; charset=utf-8"),
        (b"content-length", str(len(body)).encode()),
        *HEADERS,
    ]
    headers.append((b"content-security-policy", STRICT.encode()))
    await send({"type": "http.response.start", "status": status, "headers": headers})
    await send({"type": "http.response.body", "body": body})
