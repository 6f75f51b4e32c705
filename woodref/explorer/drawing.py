"""From a question to what is sent: the page is worked out, faults become pages that say what to do, and the
answer is drawn as HTML, JSON or CSV."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from woodref.errors import SharedName, WoodrefError
from woodref.explorer.asking import Ask
from woodref.explorer.known import check, fields_of_page, refusal, refused
from woodref.explorer.page import ASK_AGAIN, BAD_REQUEST, NOT_FOUND, Answered, Page
from woodref.explorer.routes import WITH_BOOK, is_page, menu, page_called

if TYPE_CHECKING:
    from jinja2 import Environment

HERE = Path(__file__).resolve().parent
TEMPLATES, STATIC = HERE / "templates", HERE / "static"


@cache
def environment() -> Environment:
    """Templates with autoescape; an unknown name is a fault of ours and shows at once."""
    from jinja2 import Environment, FileSystemLoader, StrictUndefined

    made = Environment(
        loader=FileSystemLoader(TEMPLATES), autoescape=True, undefined=StrictUndefined, trim_blocks=True,
        lstrip_blocks=True,
    )  # fmt: skip
    made.globals["menu"] = menu()
    return made


def answer(name: str, ask: Ask) -> Answered:
    """A page by its name, drawn as it is wanted. Faults that a person can mend become pages too, and a field
    that the page does not have is told on it: what else was asked is answered below that, to people only."""
    check(ask, fields_of_page(name))
    # a page may put other fields in place of those that were sent
    unknown = dict(ask.wrong)
    try:
        page = page_called(name)(ask)
    except WoodrefError as fault:
        page = problem(fault, ask)
    ask.wrong = unknown | ask.wrong
    if unknown and page.file is not None:
        page = problem(refusal(ask), ask)
    elif (ask.wrong and page.status == 200) or (unknown and page.status == BAD_REQUEST):
        # people read what is answered without the field that is wrong; a program is told the fault alone
        page = replace(page, status=BAD_REQUEST, told=refused(ask), rows=None)
    return draw(page, ask)


def draw(page: Page, ask: Ask) -> Answered:
    """HTML, or JSON and CSV where the page has them; a file as it is."""
    if page.file is not None:
        saved = f'attachment; filename="{page.file.name}"'
        headers = {"content-disposition": saved} if page.file.name else {}
        return Answered(page.file.body, page.file.kind, page.status, headers)
    if ask.form == "json" and page.told is not None:
        told = page.told() if callable(page.told) else page.told
        body = json.dumps(told, ensure_ascii=False, indent=1, default=str, allow_nan=False)
        return Answered(body + "\n", "application/json; charset=utf-8", page.status)
    if ask.form == "csv" and page.rows is not None:
        from woodref.catalogue.export import as_csv

        rows = page.rows() if callable(page.rows) else page.rows
        heads = list(dict.fromkeys(key for row in rows for key in row))
        return Answered(as_csv([dict(row) for row in rows], heads), "text/csv; charset=utf-8", page.status)
    if ask.form != "html" and page.status == 200:
        page = _no_such_form(page, ask)
    if ask.form == "json":
        told = refused(ask) if ask.wrong else {"error": _told(page)}
        body = json.dumps(told, ensure_ascii=False, indent=1, default=str)
        return Answered(body + "\n", "application/json; charset=utf-8", page.status)
    # a table that cannot be had is told as a page
    stamp = ask.catalogue.stamp
    values: Mapping[str, Any] = {
        "title": page.title, "notices": page.notices, "crumbs": page.crumbs, "ask": ask, "wrong": ask.wrong,
        "json_link": _taken(ask, ".json", page.told), "csv_link": _taken(ask, ".csv", page.rows),
        "stamp": stamp, "here": ask.here, "menu": [*menu(), *(WITH_BOOK if ask.shop.book_copy else ())],
        **page.values,
    }  # fmt: skip
    if page.status != 200 or (isinstance(page.told, Mapping) and "error" in page.told):
        # there is no answer to be taken along
        values = {**values, "json_link": None, "csv_link": None}
    body = environment().get_template(page.template).render(values)
    return Answered(body, "text/html; charset=utf-8", page.status)


def _taken(ask: Ask, form: str, there: object) -> str | None:
    """The link to an answer in another form; None where the page, or its path, has none."""
    return ask.link(form) if there is not None and is_page(f"{ask.here}{form}") else None


def problem(fault: WoodrefError, ask: Ask) -> Page:
    """A fault as a page: what is wrong, what was meant perhaps, what to do. A name that several woods share
    is a question back."""
    status = (
        ASK_AGAIN if isinstance(fault, SharedName) else NOT_FOUND if fault.exit_code == 3 else BAD_REQUEST
    )
    # the links below a shared name are what to do next; the sentence speaks of words of the command line
    then = None if isinstance(fault, SharedName) else fault.next
    title = {ASK_AGAIN: "Which one is meant?", NOT_FOUND: "Not found"}.get(status, "That cannot be answered")
    return Page(
        "problem.html", title, status=status, told={"error": fault.as_dict()},
        values={"message": _sentence(fault), "expected": fault.expected, "next": then,
                "candidates": fault.candidates},
    )  # fmt: skip


def _sentence(fault: WoodrefError) -> str:
    told = f"{fault.where}: {fault.message}" if fault.where else fault.message
    return f"{told[:1].upper()}{told[1:]}".removesuffix(".") + "."


def _told(page: Page) -> dict[str, Any]:
    """What a page that holds no answer says, as the JSON of a fault."""
    message = str(page.values.get("message") or page.title)
    return WoodrefError(message, next=page.values.get("next")).as_dict()


def _no_such_form(page: Page, ask: Ask) -> Page:
    return Page(
        "problem.html", "Not found", status=NOT_FOUND,
        values={"message": f"This page has no {ask.form.upper()}.", "expected": None,
                "next": "Take the page itself: leave the ending off.", "candidates": []},
    )  # fmt: skip
