"""Every rule of the guards, asked with bare requests; and the door with its word."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from typing import Any

import pytest

from woodref.explorer import door as doors
from woodref.explorer.door import Door, cookies_named, new_word, without_word
from woodref.explorer.guards import HEADERS, INNER_PAGES, STRICT, Rules, guarded

Heads = list[tuple[bytes, bytes]]
WORD = "k7m3-q9tw-xh4e"
SHOP = Rules(frozenset(["192.168.7.20"]), WORD, public=True)
THERE = b"192.168.7.20:8321"


class App:
    """Stands for the pages: tells that it was reached."""

    def __init__(self) -> None:
        self.reached: list[str] = []

    async def __call__(self, scope: Any, receive: Any, send: Any) -> None:
        self.reached.append(scope["type"])
        if scope["type"] != "http":
            return
        headers = [(b"content-type", b"text/html"), (b"X-Frame-Options", b"SAMEORIGIN"),
                   (b"content-security-policy", b"default-src *")]  # fmt: skip
        await send({"type": "http.response.start", "status": 200, "headers": headers})
        await send({"type": "http.response.body", "body": b"reached"})


class Asked:
    """One answer."""

    def __init__(self, sent: list[dict[str, Any]]) -> None:
        self.status: int = sent[0]["status"]
        self.headers: Heads = sent[0]["headers"]
        self.body: bytes = b"".join(m.get("body", b"") for m in sent[1:])

    def head(self, name: bytes) -> list[bytes]:
        return [value for key, value in self.headers if key.lower() == name]


def ask(
    wrapped: Any, path: str = "/", query: bytes = b"", method: str = "GET", host: bytes = b"127.0.0.1:8321",
    more: Heads | None = None, client: str = "192.168.7.31", raw: bytes | None = None,
) -> Asked:  # fmt: skip
    sent: list[dict[str, Any]] = []

    async def send(message: dict[str, Any]) -> None:
        sent.append(message)

    async def receive() -> dict[str, Any]:
        return {"type": "http.disconnect"}

    scope = {
        "type": "http", "method": method, "path": path, "raw_path": path.encode() if raw is None else raw,
        "query_string": query, "headers": [(b"host", host), *(more or [])], "client": (client, 50_000),
    }  # fmt: skip
    asyncio.run(wrapped(scope, receive, send))
    return Asked(sent)


@pytest.fixture
def local() -> Callable[..., Asked]:
    return lambda *a, **k: ask(guarded(App(), Rules()), *a, **k)


# --- host


@pytest.mark.parametrize("host", [b"127.0.0.1", b"127.0.0.1:8321", b"LocalHost:1", b"[::1]:8321", b"[::1]"])
def test_names_of_this_machine_are_answered(local: Any, host: bytes) -> None:
    assert local(host=host).status == 200


@pytest.mark.parametrize("host", [
    b"evil.example", b"127.0.0.1.evil.example", b"", b"127.0.0.1@evil.example", b"evil.example:127.0.0.1",
    b"localhost.", b"0.0.0.0", b"127.0.0.1:8321:1", b"127.0.0.1 evil.example", b"\xff\xfe", b"::1",
])  # fmt: skip
def test_any_other_name_is_not(local: Any, host: bytes) -> None:
    asked = local(host=host)
    assert asked.status == 421 and b"reached" not in asked.body


def test_no_name_and_two_names_are_not_answered() -> None:
    async def bare(headers: Heads) -> int:
        sent: list[dict[str, Any]] = []

        async def send(message: dict[str, Any]) -> None:
            sent.append(message)

        scope = {"type": "http", "method": "GET", "path": "/", "query_string": b"", "headers": headers}
        await guarded(App(), Rules())(scope, None, send)  # type: ignore[arg-type]
        return int(sent[0]["status"])

    assert asyncio.run(bare([])) == 421
    assert asyncio.run(bare([(b"host", b"127.0.0.1"), (b"host", b"evil.example")])) == 421


def test_the_phones_name_is_not_the_machines_own() -> None:
    app = App()
    for host in (b"127.0.0.1:8321", b"localhost"):
        assert ask(guarded(app, SHOP), host=host, query=f"word={WORD}".encode()).status == 421
    assert app.reached == []


# --- methods, other sites, other talk


@pytest.mark.parametrize(
    "method", ["POST", "PUT", "DELETE", "PATCH", "OPTIONS", "TRACE", "CONNECT", "get", "X"]
)
def test_nothing_is_written(local: Any, method: str) -> None:
    asked = local(method=method)
    assert asked.status == 405 and asked.head(b"allow") == [b"GET, HEAD"]


def test_head_is_read_too(local: Any) -> None:
    assert local(method="HEAD").status == 200


def fetch(*said: str) -> Heads:
    """What a browser says of who asks: site, mode, dest."""
    names = (b"sec-fetch-site", b"sec-fetch-mode", b"sec-fetch-dest")
    return [(name, value.encode()) for name, value in zip(names, said, strict=False)]


@pytest.mark.parametrize(("more", "status"), [
    (fetch("cross-site", "no-cors"), 403), (fetch("cross-site", "cors"), 403), (fetch("cross-site"), 403),
    (fetch("same-site", "cors"), 403), (fetch("cross-site", "navigate", "iframe"), 403),
    (fetch("cross-site", "navigate", "embed"), 403), (fetch("cross-site", "navigate", "document"), 200),
    (fetch("same-origin", "cors"), 200), (fetch("none", "navigate"), 200),
    ([(b"origin", b"http://evil.example")], 403), ([(b"origin", b"null")], 403),
    ([(b"origin", b"http://127.0.0.1:9999")], 403), ([(b"origin", b"http://127.0.0.1:8321")], 200), ([], 200),
])  # fmt: skip
def test_another_site_reads_nothing(local: Any, more: Heads, status: int) -> None:
    assert local(more=more).status == status


def test_other_talk_is_ended_and_the_start_is_let_through() -> None:
    app, sent = App(), list[dict[str, Any]]()

    async def send(message: dict[str, Any]) -> None:
        sent.append(message)

    for kind in ("websocket", "lifespan"):
        asyncio.run(guarded(app, SHOP)({"type": kind, "path": "/"}, None, send))  # type: ignore[arg-type]
    assert app.reached == ["lifespan"] and sent == [{"type": "websocket.close", "code": 1008}]


# --- paths


@pytest.mark.parametrize("raw", [
    b"//evil.example/", b"//evil.example", b"/\\evil.example/", b"/%5cevil.example/", b"/%5Cevil.example/",
    b"/%2f%2fevil.example/", b"/%2Fevil.example/", b"/%09/evil.example/", b"/~5cevil.example", b"/~2f~2fevil",
    b"/wood/a\\b", b"/wood/a%5cb", b"/wood/a%00b", b"/wood/a%0d%0ab", b"/%0a//evil.example/", b"evil", b"",
])  # fmt: skip
def test_paths_that_lead_elsewhere(local: Any, raw: bytes) -> None:
    path = raw.decode() or "//"
    assert local(path, raw=raw or b"//").status == 404


def test_a_path_of_odd_bytes(local: Any) -> None:
    assert local("/wood/x", raw=b"/wood/\xff\xfe").status == 400


@pytest.mark.parametrize("path", ["/", "/wood/teak", "/wood/Fagus%20sylvatica", "/wood/t%C3%A5g", "/search"])
def test_usual_paths_pass(local: Any, path: str) -> None:
    assert local(path).status == 200


async def test_no_path_leads_to_another_host(served: Any) -> None:
    async with served() as browser:
        for path in (
            "/wood/",
            "/catalogue/",
            "/catalogue/material/",
            "/%2e%2e//evil.example/",
            "/x//evil.example/",
        ):
            told = (await browser.get(path)).headers.get("location", "/")
            assert told.startswith("/") and not told.startswith(("//", "/\\")), path


# --- headers


def test_headers_of_our_pages_and_of_the_tables(local: Any) -> None:
    for path, policy in (
        ("/", STRICT), ("/wood/teak", STRICT), ("/cataloguer", STRICT), ("/assets/woodref.css", STRICT),
        ("/catalogue", STRICT), ("/catalogue.json", STRICT), ("/catalogue/material", STRICT),
        ("/~63atalogue/material", STRICT), ("/-/versions", INNER_PAGES),
    ):  # fmt: skip
        asked = local(path)
        assert asked.status == 200 and asked.head(b"content-security-policy") == [policy.encode()], path
        for key, value in HEADERS:
            assert asked.head(key) == [value]
    assert "unsafe" not in STRICT
    for policy in (STRICT, INNER_PAGES):
        assert "frame-ancestors 'none'" in policy and "default-src 'none'" in policy


def test_what_is_refused_carries_them_too(local: Any) -> None:
    for asked in (local(host=b"x"), local(method="POST"), local("//x")):
        assert asked.head(b"content-security-policy") == [STRICT.encode()]
        assert asked.head(b"x-content-type-options") == [b"nosniff"] and asked.head(b"cache-control")
        assert b'<html lang="en">' in asked.body and b"<h1>" in asked.body


# --- questions to the tables


async def test_questions_that_broke_the_tables(served: Any) -> None:
    async with served() as browser:
        for path, status in (
            ("/catalogue/material?_sort=nothing", 400), ("/catalogue/material?_sort_desc=x]", 400),
            ("/catalogue/material]", 404), ("/~63atalogue/material~5D", 404),
            ("/~63atalogue/material?_sort=nothing", 400), ("/catalogue/material?_sort=id", 200),
            ("/catalogue?sql=delete+from+material", 400), ("/catalogue/none", 404),
        ):  # fmt: skip
            assert (await browser.get(path)).status_code == status, path


async def test_on_this_machine_tables_and_sql_are_open(served: Any) -> None:
    async with served() as browser:
        for path in ("/catalogue", "/catalogue/material.csv", "/catalogue.json?sql=select+1", "/-/versions"):
            assert (await browser.get(path)).status_code == 200, path


def test_pages_of_the_machine_are_closed_to_other_names() -> None:
    rules = Rules(frozenset(["shop.example"]))
    for path in ("/-/versions", "/-/settings.json", "/-/config", "/-/databases", "/-/plugins", "/-/anything"):
        app = App()
        assert ask(guarded(app, rules), path, host=b"shop.example").status in (403, 404) and not app.reached
    assert ask(guarded(App(), rules), "/catalogue", host=b"shop.example").status == 200


# --- public


CLOSED = (
    "/catalogue", "/catalogue.json", "/catalogue.db", "/catalogue/material", "/catalogue/material.csv",
    "/catalogue/material/teak", "/catalogue?sql=select+1", "/~63atalogue/material", "/catalog~75e.json",
    "/.json", "/.jsono", "/-/versions", "/-/static/app.css", "/-/static-plugins/x/y", "/-/auth-token",
    "/_memory", "/:memory:", "/anything", "/anything.json",
)  # fmt: skip


@pytest.mark.parametrize("path", CLOSED)
def test_only_our_pages_are_open_to_others(path: str) -> None:
    app = App()
    bare, _, query = path.partition("?")
    asked = ask(guarded(app, SHOP), bare, query.encode(), host=THERE,
                more=[(b"cookie", f"woodref_word={WORD}".encode())])  # fmt: skip
    assert asked.status in (403, 404) and app.reached == []


async def test_others_read_pages_and_what_these_load(served: Any, books: Any) -> None:
    async with served(books.shop, SHOP, "http://192.168.7.20:8321") as phone:
        assert (await phone.get("/")).status_code == 403
        came = await phone.get(f"/shelf?q=beech&word={WORD}&page=1")
        assert came.status_code == 303 and came.headers["location"] == "/shelf?q=beech&page=1"
        for path in (
            "/",
            "/shelf?q=beech",
            "/items.json",
            "/wood/teak.csv",
            "/assets/woodref.css",
        ):
            assert (await phone.get(path)).status_code == 200, path
        for path in CLOSED:
            assert (await phone.get(path)).status_code in (403, 404), path
        assert WORD not in (await phone.get("/wood/teak")).text


# --- the word


def door(**more: Any) -> Door:
    waited: list[float] = []

    async def wait(seconds: float) -> None:
        waited.append(seconds)

    made = Door(WORD, wait, **more)
    made.waited = waited  # type: ignore[attr-defined]
    return made


def meet(made: Door, query: bytes = b"", cookies: str = "", client: str = "10.0.0.9", path: str = "/") -> Any:
    scope = {"path": path, "raw_path": path.encode(), "query_string": query, "client": (client, 1)}
    return asyncio.run(made.meet(scope, cookies))


def test_the_first_visit_sets_a_cookie_and_leaves_the_word_out_of_the_address() -> None:
    asked = ask(guarded(App(), SHOP), "/wood/teak", f"units=us&word={WORD}".encode(), host=THERE)
    assert asked.status == 303 and asked.head(b"location") == [b"/wood/teak?units=us"]
    cookie = asked.head(b"set-cookie")[0].decode()
    assert cookie.startswith(f"woodref_word={WORD}; ") and "HttpOnly" in cookie and "SameSite=Lax" in cookie
    assert b"no-store" in asked.head(b"cache-control")[0]
    inside = ask(guarded(App(), SHOP), more=[(b"cookie", cookie.partition(";")[0].encode())], host=THERE)
    assert inside.status == 200 and inside.body == b"reached" and not inside.head(b"set-cookie")


@pytest.mark.parametrize("query", [
    b"", b"word=", b"word=K7M3-Q9TW-XH4E", b"word=k7m3-q9tw-xh4", b"word=k7m3-q9tw-xh4e%00", b"word=%ff%fe",
    b"Word=k7m3-q9tw-xh4e", b"word[]=k7m3-q9tw-xh4e", b"x=word=k7m3-q9tw-xh4e", b"word=" + b"x" * 5000,
    b"word=a&word=b&word=c&word=k7m3-q9tw-xh4e",
])  # fmt: skip
def test_no_word_or_another_opens_nothing(query: bytes) -> None:
    found = meet(door(), query)
    assert not found.inside and found.to is None and found.refusal[0] == 403


@pytest.mark.parametrize("cookies", [
    "woodref_word=x", "woodref_word=", "woodref_word", "=k7m3-q9tw-xh4e", "\xff\xfe=\x00; ;;;=",
    "a=b;" * 3000,
    'other={"a": "b"}; woodref_word=wrong', "Woodref_word=k7m3-q9tw-xh4e", "xwoodref_word=k7m3-q9tw-xh4e",
    "woodref_word=\u00e9\u00ff",
    "woodref_word=a; woodref_word=b; woodref_word=c; woodref_word=k7m3-q9tw-xh4e",
])  # fmt: skip
def test_odd_cookies_open_nothing_and_break_nothing(cookies: str) -> None:
    found = meet(door(), cookies=cookies)
    assert not found.inside and found.refusal[0] == 403


@pytest.mark.parametrize("cookies", [
    f"woodref_word={WORD}", f' other={{"a": 1}} ; woodref_word="{WORD}" ; z',
    f"woodref_word=old; woodref_word={WORD}",
])  # fmt: skip
def test_cookies_of_other_programs_are_in_nobodys_way(cookies: str) -> None:
    assert meet(door(), cookies=cookies).inside


def test_a_new_link_opens_where_an_old_cookie_is_kept() -> None:
    found = meet(door(), f"word={WORD}".encode(), "woodref_word=of-yesterday")
    assert found.to == "/" and found.headers


def test_wrong_words_are_answered_later_and_later_and_then_not_listened_to() -> None:
    now = [1000.0]
    made = door(clock=lambda: now[0])
    for _ in range(doors.MOST):
        assert meet(made, b"word=wrong").refusal[0] == 403
    waited = made.waited  # type: ignore[attr-defined]
    assert waited[:5] == [0.25, 0.5, 1.0, 2.0, 4.0] and max(waited) == doors.LONGEST
    # from then on even the right word of that machine is not looked at, for a while
    shut = meet(made, f"word={WORD}".encode())
    assert shut.refusal[0] == 429 and (b"retry-after", b"60") in shut.headers
    assert meet(made, cookies=f"woodref_word={WORD}").refusal[0] == 429
    assert meet(made, f"word={WORD}".encode(), client="10.0.0.10").to == "/"  # nobody else is kept waiting
    now[0] += doors.SHUT + 1
    assert meet(made, f"word={WORD}".encode()).to == "/"
    assert made._met == {}


def test_wrong_cookies_count_as_wrong_words_do() -> None:
    made = door(clock=lambda: 0.0)
    for _ in range(doors.MOST):
        meet(made, cookies="woodref_word=wrong")
    assert meet(made, cookies="woodref_word=wrong").refusal[0] == 429


def test_who_gives_no_word_is_not_counted() -> None:
    made = door()
    for _ in range(50):
        assert meet(made).refusal[0] == 403
    assert made._met == {} and made.waited == []  # type: ignore[attr-defined]


def test_many_machines_fill_no_memory() -> None:
    made = door()
    for number in range(doors.REMEMBERED + 50):
        meet(made, b"word=wrong", client=f"10.0.{number // 250}.{number % 250}")
    assert len(made._met) == doors.REMEMBERED


async def test_no_more_than_some_are_kept_waiting() -> None:
    held, ends = [0], asyncio.Event()

    async def wait(_: float) -> None:
        held[0] += 1
        await ends.wait()

    made = Door(WORD, wait)
    asked = [
        asyncio.create_task(made.meet({"path": "/", "query_string": b"word=x", "client": (f"c{n}", 1)}, ""))
        for n in range(doors.WAITING + 20)
    ]
    await asyncio.sleep(0)
    assert held[0] == doors.WAITING and sum(task.done() for task in asked) == 20
    ends.set()
    assert {(await task).refusal[0] for task in asked} == {403}


def test_every_word_is_compared_to_its_end(monkeypatch: pytest.MonkeyPatch) -> None:
    seen: list[tuple[bytes, bytes]] = []
    monkeypatch.setattr(doors.secrets, "compare_digest", lambda a, b: seen.append((a, b)) or a == b)
    meet(door(), f"word={WORD}".encode(), "woodref_word=other")
    assert seen == [(WORD.encode(), WORD.encode()), (b"other", WORD.encode())]


def test_words_are_of_chance_and_of_letters_nobody_mistakes() -> None:
    made = {new_word() for _ in range(200)}
    assert len(made) == 200
    for word in made:
        assert len(word) == 14 and set(word) <= {*doors.LETTERS, "-"} and not set(word) & set("01oil")
    assert len(doors.LETTERS) ** doors.LENGTH > 2**58


@pytest.mark.parametrize(("raw", "query", "to"), [
    (b"/", b"word=x", "/"), (b"/a%20b", b"word=x&q=a%26b", "/a%20b?q=a%26b"),
    (b"/", b"q=1&%77ord=x&", "/?q=1"), (b"///evil", b"word=x", "/evil"),
    (b"/a\r\nSet-Cookie: x", b"word=x&b=\r\n", "/a%0D%0ASet-Cookie:%20x?b=%0D%0A"),
    (b"/\xff", b"q=\xfe", "/%C3%BF?q=%C3%BE"),
])  # fmt: skip
def test_where_a_link_goes_on_to(raw: bytes, query: bytes, to: str) -> None:
    assert without_word({"path": "/", "raw_path": raw, "query_string": query}) == to


def test_cookies_are_read_by_their_whole_name() -> None:
    assert cookies_named("a=1; woodref_word=x=y; b", "woodref_word") == ["x=y"]


def test_nobody_comes_in_from_elsewhere_unless_it_was_asked_for() -> None:
    from woodref.explorer.running import for_this_machine

    opened = for_this_machine(0)
    with opened.listening:
        assert opened.listening.getsockname()[0] == "127.0.0.1"
        assert opened.rules == Rules() and opened.rules.word is None and not opened.rules.public
