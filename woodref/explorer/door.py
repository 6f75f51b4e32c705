"""The door for other machines: a word in the printed link, kept as a cookie once the link was opened.

The word is made anew at each start and is worth nothing afterwards. Wrong words are counted by the machine
they come from and answered later and later, so that nobody finds it by trying.
"""

from __future__ import annotations

import asyncio
import secrets
import time
from collections import OrderedDict
from collections.abc import Awaitable, Callable, Mapping
from dataclasses import dataclass, field
from typing import Any
from urllib.parse import parse_qsl, quote, unquote_plus

Scope = Mapping[str, Any]

FIELD, COOKIE = "word", "woodref_word"
#: letters that nobody mistakes for each other; twelve of them are 59 bits
LETTERS, LENGTH, GROUP = "23456789abcdefghjkmnpqrstuvwxyz", 12, 4
#: how long a browser keeps the cookie [s]: a day at the bench
KEPT = 43_200
#: wait after the first wrong word and at most [s]; after how many a machine is not listened to, and how long
FIRST, LONGEST, MOST, SHUT = 0.25, 4.0, 20, 60.0
#: machines remembered, and wrong words kept waiting at once
REMEMBERED, WAITING = 500, 50
ASK = (
    "Open the whole link that was printed when the explorer was started: it carries a word, which the "
    "browser keeps as a cookie. When the explorer was started anew the old link is worth nothing."
)
TOO_MANY = "Too many wrong words came from this machine. Wait a minute, then open the printed link."


def new_word() -> str:
    """'k7m3-q9tw-xh4e', made of chance."""
    letters = "".join(secrets.choice(LETTERS) for _ in range(LENGTH))
    return "-".join(letters[at : at + GROUP] for at in range(0, LENGTH, GROUP))


@dataclass(frozen=True)
class Met:
    """What the door says: let in, or (status, sentence), or go on to another place with the cookie."""

    inside: bool = False
    refusal: tuple[int, str] | None = None
    to: str | None = None
    headers: tuple[tuple[bytes, bytes], ...] = ()


@dataclass
class _Tries:
    wrong: int = 0
    shut_until: float = 0.0


@dataclass
class Door:
    """word: that opens it; wait, clock: of the loop, so that tests need not wait."""

    word: str
    wait: Callable[[float], Awaitable[None]] = asyncio.sleep
    clock: Callable[[], float] = time.monotonic
    _met: OrderedDict[str, _Tries] = field(default_factory=OrderedDict)
    _waiting: int = 0

    async def meet(self, scope: Scope, cookies: str) -> Met:
        """Who asks with which word. cookies: the Cookie header as text."""
        given, held = words_in(_query(scope)), cookies_named(cookies, COOKIE)
        who = str((scope.get("client") or ("",))[0])
        tries = self._met.get(who)
        if tries and tries.shut_until > self.clock() and (given or held):
            return Met(refusal=(429, TOO_MANY), headers=((b"retry-after", b"60"),))
        # every word is compared, and each to its end, so that time tells nothing
        right = [secrets.compare_digest(said.encode(), self.word.encode()) for said in (*given, *held)]
        if any(right):
            self._met.pop(who, None)
            return self._on_from_link(scope) if given else Met(inside=True)
        if right:
            await self._slow(who)
        return Met(refusal=(403, ASK))

    def _on_from_link(self, scope: Scope) -> Met:
        """To the same page without the word, which then stands in no history, print or copied link."""
        cookie = f"{COOKIE}={self.word}; Path=/; HttpOnly; SameSite=Lax; Max-Age={KEPT}"
        return Met(to=without_word(scope), headers=((b"set-cookie", cookie.encode()),))

    async def _slow(self, who: str) -> None:
        tries = self._met.setdefault(who, _Tries())
        self._met.move_to_end(who)
        while len(self._met) > REMEMBERED:
            self._met.popitem(last=False)
        tries.wrong += 1
        if tries.wrong >= MOST:
            tries.wrong, tries.shut_until = 0, self.clock() + SHUT
        if self._waiting >= WAITING:
            return
        self._waiting += 1
        try:
            await self.wait(min(FIRST * 2 ** max(0, tries.wrong - 1), LONGEST))
        finally:
            self._waiting -= 1


def _query(scope: Scope) -> str:
    return bytes(scope.get("query_string", b"")).decode("latin-1")


def words_in(query: str) -> list[str]:
    """The words given in a link; one is usual, more than three are not looked at."""
    return [value for name, value in parse_qsl(query, keep_blank_values=True) if name == FIELD][:3]


def cookies_named(header: str, name: str) -> list[str]:
    """Values of a cookie, whatever other programs on the same machine have left in the header."""
    pairs = (part.partition("=") for part in header.split(";"))
    return [value.strip().strip('"') for key, _, value in pairs if key.strip() == name][:3]


def without_word(scope: Scope) -> str:
    """Path and query of a request, its word left out. The path begins with one stroke."""
    path = bytes(scope.get("raw_path") or str(scope["path"]).encode()).decode("latin-1").partition("?")[0]
    kept = [part for part in _query(scope).split("&") if unquote_plus(part.partition("=")[0]) != FIELD]
    query = "&".join(filter(None, kept))
    safe = "/%:@!$'()*+,;=~-._&?"
    return quote("/" + path.lstrip("/"), safe=safe) + (f"?{quote(query, safe=safe)}" if query else "")
