"""The layup form: a pack of plies checked before it is glued, as `layup` answers; its bench card and its
file."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

from woodref.errors import BadLayup, CannotAnswer, WoodrefError
from woodref.explorer.asking import Ask
from woodref.explorer.forms import Form, choices
from woodref.explorer.formwords import FormWords
from woodref.explorer.layupasked import ASKED, DEMOS, rows_shown, sheet_of
from woodref.explorer.layupfaults import tell
from woodref.explorer.layupfields import LEAF, LINE, PLY, PLY_MORE, SECTIONS, last_row
from woodref.explorer.layupsheet import Sheet
from woodref.explorer.page import BAD_REQUEST, File, Page
from woodref.explorer.pages.wood import UNITS

if TYPE_CHECKING:
    from woodref.layup.backs import Backs
    from woodref.layup.report import Report

ESTIMATES, BACKS = "Work out from its weight what is not known of a wood", "Name backs that would balance it"
WORDS = FormWords(
    {"--estimates": ("estimates", ESTIMATES), "--suggest-back": ("backs", BACKS),
     "--region": ("region", "Country whose trade names are meant")},
    {
        "woodref layup FILE --suggest-back names some": (f'"{BACKS}" in this form names some', "backs"),
        "unidentified: <words>": ('say at "Not identified" what it looks like', "ply_1_unidentified"),
        "material: NAME, or unidentified: WORDS": (
            'the name of a wood, or words at "Not identified"', "ply_1_material"
        ),
    },
)  # fmt: skip
#: columns of numbers in the table of the pack
NUMBERS = (3, 4, 5, 6)

#: the fields of each page
FIELDS = {name: ASKED for name in ("layup", "card", "written")}


def layup(ask: Ask) -> Page:
    """The form, and below it the report once there is a pack to check."""
    form, sheet, shown, backs = _asked(ask)
    if ask.wrong:
        return _page(form, sheet, None, None)
    if shown is None:
        page = _page(form, sheet, None, None)
        return page if ask.form == "html" else replace(page, status=BAD_REQUEST)
    return _page(form, sheet, shown, backs)


def card(ask: Ask) -> Page:
    """The bench card as a page of its own, to print; the form where there is nothing to print yet."""
    from woodref.layup.benchcard import Linked, bench_card

    form, sheet, shown, _ = _asked(ask)
    if shown is None:
        return _unready(form, sheet)
    back = replace(ask, here="/layup").link() + "#answer"
    linked = Linked(("/layup/card.css", "/layup/drawing.css"), ("/assets/rows.js",), back)
    body = bench_card(shown, _drawn(ask, shown), linked)
    return Page("", "Bench card", file=File(body, "text/html; charset=utf-8"))


def written(ask: Ask) -> Page:
    """The pack as a layup file, which `woodref layup` reads."""
    form, sheet, shown, _ = _asked(ask)
    if shown is None or sheet.body is None:
        return _unready(form, sheet)
    return Page("", sheet.file, file=File(sheet.body, "text/yaml; charset=utf-8", sheet.file))


def style(ask: Ask) -> Page:
    """The style of the bench card and that of a drawing, which pages load and files carry in themselves."""
    from woodref.layup.benchcard import card_style
    from woodref.layup.drawtext import STYLE

    body = card_style() if ask.path["sheet"] == "card" else STYLE
    return Page("", "Style", file=File(body, "text/css; charset=utf-8"))


def _unready(form: Form, sheet: Sheet) -> Page:
    """The form in place of a card or a file of which there is nothing yet."""
    if not form.ask.wrong:
        form.at("ply_1_material", BadLayup("there is no pack yet", expected="its plies, show face first"))
    return _page(form, sheet, None, None)


def _asked(ask: Ask) -> tuple[Form, Sheet, Report | None, Backs | None]:
    """What was asked, and its report where everything can be read."""
    from woodref.layup.reader import load_layup
    from woodref.layup.report import report

    form = Form(ask, WORDS)
    sheet = sheet_of(form)
    system, region = ask.units, form.country("region")
    if region is not None and region not in ask.catalogue.countries:
        form.at("region", BadLayup(f'"{region}" is not a country', expected="its name or code, such as US"))
    if ask.wrong or sheet.body is None:
        return form, sheet, None, None
    backs = None
    try:
        read = load_layup(sheet.body.encode(), sheet.file)
        shown = report(
            read, ask.catalogue, ask.shop.today, region=region, guess=ask.flag("estimates"), system=system
        )
        if ask.flag("backs"):
            from woodref.layup.backs import suggest_backs

            backs = suggest_backs(shown, ask.catalogue, ask.shop.today)
    except CannotAnswer as fault:
        form.at("backs", fault)
        return form, sheet, None, None
    except WoodrefError as fault:
        tell(form, sheet, fault)
        return form, sheet, None, None
    return form, sheet, shown, backs


def _drawn(ask: Ask, shown: Report) -> str:
    from woodref.layup.drawing import draw
    from woodref.science.colour import lab_to_hex

    colours = {name: lab_to_hex(c.lab) for name, c in ask.catalogue.colour_classes.items()}
    return draw(shown, colours, styled=False)


def _page(form: Form, sheet: Sheet, shown: Report | None, backs: Backs | None) -> Page:
    ask = form.ask
    values = form.values() | _fields(form, sheet) | {"shown": None, "begun": sheet.begun}
    if shown is None:
        none = BadLayup("there is no pack to check", expected="its plies, show face first")
        told = form.error if ask.wrong else {"error": none.as_dict()}
        # an unknown name among many fields is a field to mend, not a page that is not there
        return Page("layup.html", "Check a pack", values, BAD_REQUEST if ask.wrong else 200, told)
    return Page(
        "layup.html", "Check a pack", values | {"shown": _shown(ask, shown, backs)},
        told=shown.as_dict() | ({"backs": backs.as_dict()} if backs else {}), rows=_rows(shown),
        notices=[notice.message for notice in shown.notices],
    )  # fmt: skip


def _fields(form: Form, sheet: Sheet) -> dict[str, Any]:
    """What the form is made of and what it holds."""
    ask, held = form.ask, sheet.held
    plies = rows_shown(sheet)
    forms = [(key, words.words) for key, words in ask.catalogue.rules.forms.items()]
    opened = {
        section.key: any(section.name(f) in held or section.name(f) in ask.wrong for f in section.fields)
        for section in SECTIONS
    }
    return {
        "held": held, "plies": plies, "ply_fields": PLY, "ply_more": PLY_MORE, "line_fields": LINE,
        "leaf_fields": LEAF, "sections": SECTIONS, "opened": opened, "lines": max(plies - 1, 0),
        "own_lines": last_row(held, "line"), "leaves": last_row(held, "leaf") + 1,
        "own_leaves": last_row(held, "leaf"), "forms": choices(forms), "unit_choices": UNITS,
        "glues": [(g["names"][0]["text"], g["id"]) for g in ask.catalogue.adhesives.values()], "demos": DEMOS,
        "estimates": ESTIMATES, "name_backs": BACKS,

        "pasted": "".join(ask.fields.get("paste", ())[:1]) if "paste" in ask.wrong else "",
    }  # fmt: skip


def _shown(ask: Ask, shown: Report, backs: Backs | None) -> dict[str, Any]:
    """The report with its drawing and its links."""
    from markupsafe import Markup

    head, rows = shown.pack_table()
    return {
        "headline": shown.headline(), "short": shown.short(), "page": shown.page(), "head": head,
        "rows": rows,
        "right": NUMBERS, "engineers": shown.engineers(),
        "matrices": [(t, [[f"{v:,.3f}" for v in row] for row in m]) for t, m in shown.matrices()],
        "drawing": Markup(_drawn(ask, shown)),  # noqa: S704 - made by us, every text in it escaped
        "backs": list(backs.sentences) if backs else [],
        "card": replace(ask, here="/layup/card").link(), "file": replace(ask, here="/layup.yaml").link(),
    }  # fmt: skip


def _rows(shown: Report) -> list[dict[str, Any]]:
    """The pack, a line for each ply, for the CSV."""
    out = []
    for sheet in shown.pack.sheets:
        told = sheet.as_dict()
        shrinkage = told.pop("shrinkage_pct") or {"along": None, "across": None, "through": None}
        out.append(
            {key: value for key, value in told.items() if key not in ("figures", "missing")}
            | {f"shrinkage_{way}_pct": value for way, value in shrinkage.items()}
            | {"missing": told["missing"]}
        )
    return out
