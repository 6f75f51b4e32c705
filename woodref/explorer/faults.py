"""Faults of the table pages, and of a page of ours that fails, as pages that say what to do."""

from __future__ import annotations

import logging
import sqlite3
from typing import Any

from woodref.errors import BadRequest, UnknownName, WoodrefError
from woodref.explorer.asking import Ask, Shop
from woodref.explorer.drawing import draw, problem
from woodref.explorer.page import Answered, Page
from woodref.explorer.tables import PATIENCE

log = logging.getLogger("woodref.explorer")
TABLES = "Choose a table at /catalogue."
#: words of a fault of the tables' own that names no cause a person can mend
SHOWN = 300


def answered(datasette: Any, path: str, exception: Exception) -> Answered:
    """A page, or JSON where JSON was asked for. Only a fault of ours is written to the log."""
    from datasette.database import QueryInterrupted
    from datasette.utils import InvalidSql
    from datasette.utils.asgi import Base400
    from datasette.views.base import DatasetteError

    shop, _ = datasette.woodref
    if isinstance(exception, WoodrefError):
        return _told(shop, path, exception)
    if isinstance(exception, QueryInterrupted):
        return _told(shop, path, _slow())
    if isinstance(exception, DatasetteError):
        slow = "interrupted" in str(exception.title or exception.message).lower()
        return _told(shop, path, _slow() if slow else _of(exception.status, str(exception.message)))
    # the file is only read: what SQLite refuses there is the question, such as a number too large for it
    refused = isinstance(exception, (sqlite3.Error, OverflowError)) and path.startswith("/catalogue")
    if refused or isinstance(exception, InvalidSql):
        return _told(shop, path, _of(400, str(exception)))
    if isinstance(exception, Base400):
        return _told(shop, path, _of(exception.status, str(exception)), exception.status)
    log.error("a page failed: %s", path, exc_info=exception)
    return _failed(shop, path)


def forbidden(datasette: Any, path: str, message: str) -> Answered:
    """What is closed while others can reach the explorer."""
    shop, _ = datasette.woodref
    fault = BadRequest("this is closed here", next="On the machine itself, without --phone, it is open.")
    return _told(shop, path, fault, 403)


def told(datasette: Any, path: str, fault: WoodrefError) -> Answered:
    """A question to the tables that cannot be put."""
    shop, _ = datasette.woodref
    return _told(shop, path, fault)


def _slow() -> BadRequest:
    return BadRequest(
        f"the question took longer than {PATIENCE} seconds",
        next="Ask for less: fewer tables joined, or a limit.",
    )


def _of(status: int, message: str) -> WoodrefError:
    if status == 404:
        return UnknownName("there is no such page, table or row", next=TABLES)
    said = " ".join(message.split())[:SHOWN].rstrip(".")
    return BadRequest(f"the tables cannot answer that: {said}", next="Mend the link, or begin at /catalogue.")


def _told(shop: Shop, path: str, fault: WoodrefError, status: int | None = None) -> Answered:
    ask = _ask(shop, path)
    page = problem(fault, ask)
    if status is not None and status != page.status:
        page = Page(page.template, page.title, page.values, status, page.told)
    return draw(page, ask)


def _failed(shop: Shop, path: str) -> Answered:
    fault: dict[str, Any] = {"code": "failed", "message": "The page failed.", "where": None,
                             "expected": None, "next": None, "candidates": []}  # fmt: skip
    page = Page(
        "problem.html", "This page failed", status=500, told={"error": fault},
        values={"message": "Something is wrong in woodref itself, not in what you asked.", "expected": None,
                "next": "What went wrong stands on the terminal from which the explorer was started: send it "
                        "with the address of this page.", "candidates": []},
    )  # fmt: skip
    return draw(page, _ask(shop, path))


def _ask(shop: Shop, path: str) -> Ask:
    form = "json" if path.endswith(".json") else "html"
    return Ask(shop, form=form, here=path.removesuffix(".json"))
