"""How the explorer is started: Datasette in this process over the built catalogue, our pages, our guards."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

from woodref.explorer.asking import FIELD, Shop, ask_of
from woodref.explorer.drawing import STATIC, TEMPLATES, answer
from woodref.explorer.guards import App, Receive, Rules, Scope, Send, guarded
from woodref.explorer.page import Answered
from woodref.explorer.routes import ROUTES
from woodref.explorer.tables import DATABASE, PATIENCE, metadata, served

if TYPE_CHECKING:
    from pathlib import Path

    from datasette.app import Datasette

#: settings of the table pages; a question is cut off after a while that no sound one takes
SETTINGS = {
    "default_page_size": 50, "max_returned_rows": 1000, "sql_time_limit_ms": 1000 * PATIENCE,
    "suggest_facets": False, "facet_time_limit_ms": 1000,
    "allow_download": True, "default_cache_ttl": 0, "max_csv_mb": 20, "num_sql_threads": 2,
}  # fmt: skip

#: questions of the table pages that only count: all rows, or the rows of each value of a facet
COUNTING = re.compile(
    r"\s*select (?:count\(\*\) from|(?:\[[^\]]*\]|\w+) as value, count\(\*\) as count from)\s"
)
#: answers to those that are kept at the most, each no more than some dozens of rows
COUNTS = 200


def explorer(shop: Shop, rules: Rules | None = None) -> Datasette:
    """A Datasette over the catalogue with our pages. shop: what the pages read from."""
    from datasette.app import Datasette

    from woodref.paths import plugins_dir

    served(shop.catalogue.path)
    # read now, so that the first person does not wait for it
    shop.catalogue.materials(), shop.catalogue.names
    rules = rules or Rules()
    settings: dict[str, Any] = SETTINGS | (
        {"default_allow_sql": False, "allow_download": False} if rules.public else {}
    )
    made = Datasette(
        [], settings=settings, template_dir=str(TEMPLATES / "tables"), plugins_dir=str(plugins_dir()),
        static_mounts=[("assets", str(STATIC))], metadata=metadata(),
    )  # fmt: skip
    made.add_database(_quiet(made, shop.catalogue.path), name=DATABASE)
    made.woodref = (shop, rules)
    return made


def _quiet(made: Datasette, path: Path) -> Any:
    """The file as a database that tells a slip in somebody's SQL on the page alone, not on the terminal, and
    counts a table only once: the file never changes, and a count goes through all of it."""
    from datasette.database import Database

    counts: dict[object, Any] = {}

    class Quiet(Database):  # type: ignore[misc]
        async def execute(self, sql: str, *args: Any, **given: Any) -> Any:
            quietly = given | {"log_sql_errors": False}
            if not COUNTING.match(sql):
                return await super().execute(sql, *args, **quietly)
            asked = (sql, repr(args), repr(given))
            found = counts.get(asked)
            if found is None:
                found = await super().execute(sql, *args, **quietly)
                # what was asked for first is forgotten first
                if len(counts) >= COUNTS:
                    del counts[next(iter(counts))]
                counts[asked] = found
            return found

    return Quiet(made, path=str(path), is_mutable=False)


def is_ours(made: Any) -> bool:
    """Whether a Datasette is the explorer's: plugins are shared by every one in a process."""
    return hasattr(made, "woodref")


def table_values(made: Any) -> dict[str, Any]:
    """What the templates of the table pages want beside Datasette's own."""
    from woodref.catalogue.columnwords import table_words
    from woodref.explorer.routes import WITH_BOOK, menu

    shop, _ = made.woodref
    whole = [*menu(), *(WITH_BOOK if shop.book_copy else ())]
    return {"menu": whole, "stamp": shop.catalogue.stamp, "words": table_words()}


def app_of(made: Datasette) -> App:
    """The application to serve, behind its guards."""
    _, rules = made.woodref
    return guarded(_asked_well(made, made.app()), rules)


def _asked_well(made: Datasette, app: App) -> App:
    """Questions to the tables are read first; what is wrong with one is told as a page."""
    from woodref.explorer import faults, tablequestions

    async def wrapped(scope: Scope, receive: Receive, send: Send) -> None:
        path = bytes(scope.get("raw_path") or b"").partition(b"?")[0].decode("latin-1") or scope.get(
            "path", ""
        )
        if scope["type"] != "http" or not re.match(rf"^/{DATABASE}(?:[/.]|$)", path):
            await app(scope, receive, send)
            return
        wrong = tablequestions.fault(path, bytes(scope.get("query_string", b"")).decode("latin-1"))
        if wrong is None:
            await app(scope, receive, send)
            return
        found = faults.told(made, path, wrong)
        head = [(b"content-type", found.kind.encode())]
        await send({"type": "http.response.start", "status": found.status, "headers": head})
        await send({"type": "http.response.body", "body": found.body.encode()})

    return wrapped


def shown(made: Datasette, name: str, request: Any) -> Answered:
    """A page of ours for a request."""
    from urllib.parse import parse_qsl, unquote

    shop, _ = made.woodref
    pairs = parse_qsl(request.query_string, keep_blank_values=True, errors="replace")
    # the words of a path come as they were sent, with %20 for a space
    words = {
        key: unquote(word[:FIELD], errors="replace").replace("\x00", "")
        for key, word in request.url_vars.items()
        if word
    }
    return answer(name, ask_of(shop, words, pairs, request.path))


def views() -> list[tuple[str, str]]:
    """(path, page) of every page of ours."""
    return [(path, name) for path, name, _ in ROUTES]
