"""How the explorer is started: Datasette in this process over the built catalogue, our pages, our guards."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from woodref.explorer.asking import FIELD, Shop, ask_of
from woodref.explorer.drawing import STATIC, TEMPLATES, answer
from woodref.explorer.guards import App, Rules, guarded
from woodref.explorer.page import Answered
from woodref.explorer.routes import ROUTES
from woodref.explorer.tables import DATABASE, served

if TYPE_CHECKING:
    from datasette.app import Datasette

#: settings of the table pages
SETTINGS = {
    "default_page_size": 50, "max_returned_rows": 1000, "sql_time_limit_ms": 1000, "suggest_facets": False,
    "allow_download": True, "default_cache_ttl": 0, "max_csv_mb": 20, "num_sql_threads": 2,
}  # fmt: skip


def explorer(shop: Shop, rules: Rules | None = None) -> Datasette:
    """A Datasette over the catalogue with our pages. shop: what the pages read from."""
    from datasette.app import Datasette
    from datasette.database import Database

    from woodref.paths import plugins_dir

    served(shop.catalogue.path)
    rules = rules or Rules()
    settings: dict[str, Any] = SETTINGS | (
        {"default_allow_sql": False, "allow_download": False} if rules.public else {}
    )
    made = Datasette(
        [], settings=settings, template_dir=str(TEMPLATES / "tables"), plugins_dir=str(plugins_dir()),
        static_mounts=[("assets", str(STATIC))], metadata=metadata(shop),
    )  # fmt: skip
    made.add_database(Database(made, path=str(shop.catalogue.path), is_mutable=False), name=DATABASE)
    made.woodref = (shop, rules)
    return made


def metadata(shop: Shop) -> dict[str, Any]:
    """Titles and column descriptions of the table pages."""
    return {"title": "woodref", "databases": {DATABASE: {"title": "The catalogue's tables"}}}


def app_of(made: Datasette) -> App:
    """The application to serve, behind its guards."""
    _, rules = made.woodref
    app: App = made.app()
    return guarded(app, rules)


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
