"""What a layup page was asked: the fields of the form, a file pasted, one of the workshop's files, or a wood
to begin a pack with. All of them come to fields and to the text of a layup file."""

from __future__ import annotations

import re
from collections.abc import Mapping

from woodref.catalogue.material import Material
from woodref.errors import BadRequest, WoodrefError
from woodref.explorer.asking import Ask
from woodref.explorer.forms import Form
from woodref.explorer.known import Fields
from woodref.explorer.layupfaults import tell
from woodref.explorer.layupfields import ROW, ROWS, SECTIONS, fields_of, last_row
from woodref.explorer.layupsheet import FILE, Sheet
from woodref.explorer.layupwriting import written
from woodref.layup.layupfile import MOST_PLIES, parse, written_out
from woodref.layup.pack import default_cut
from woodref.layup.reading import Faults

#: bytes of a pasted layup: with it the link still lasts
MOST = 8_192
#: files of the workshop: name -> what it is
DEMOS = (
    ("seat-shell", "A seat shell of seven plies"),
    ("drum-shell", "A drum, a ring of six plies"),
    ("lamp-shade-two-radii", "A lamp shade, round both ways"),
    ("tray-unbalanced", "A tray that cups: what is wrong with it"),
)
#: a pack to begin from, where a wood was handed over: (place, grain), what lies inside, and the rest of it
BEGUN = (("face", "0"), ("inner", "90"), ("inner", "0"), ("inner", "90"), ("back", "0"))
BEGUN_WITH = "Five plies to begin from: change what is otherwise with yours, and check again."
BEGUN_INSIDE = (
    "Five plies to begin from: name the face and the back, and change what is otherwise with yours."
)
INSIDE, LEAF_MM, INNER_MM = "liriodendron-tulipifera", "0.6", "1.5"
REST = {
    "glue_adhesive": "urea-formaldehyde", "glue_spread": "110", "press_cold": "20", "press_pressure": "0.4",
    "mould_flat": "1",
    "panel_length": "450", "panel_width": "320",
}  # fmt: skip
_SINGLE = {section.name(f) for section in SECTIONS for f in section.fields}
_ROW_KEYS = {row: {f.key for f in fields} for row, (_, fields) in ROWS.items()}
#: the fields of every page that is asked for a layup
ASKED = Fields(
    (*_SINGLE, "face", "back", "inner", "paste", "begin", "add", "units", "region", "estimates", "backs"),
    rows=re.compile(
        "|".join(f"{row}_[1-9][0-9]{{0,2}}_(?:{'|'.join(sorted(keys))})" for row, keys in _ROW_KEYS.items())
        + "|remove_[1-9][0-9]{0,2}"
    ),
)
_COUNTRIES = {s.name(f) for s in SECTIONS for f in s.fields if f.kind == "country"}


def sheet_of(form: Form) -> Sheet:
    """What was asked. Faults are told at their fields."""
    ask = form.ask
    held = _held(ask)
    begun = {place: ask.one(place) for place in ("face", "back", "inner") if ask.one(place)}
    given = [bool(held), bool(ask.one("paste")), bool(ask.one("begin")), bool(begun)]
    if sum(given) > 1:
        form.at(
            "paste" if ask.one("paste") else "ply_1_material",
            BadRequest(
                "more than one layup is given", expected="the form, a pasted file, or one to begin from"
            ),
        )
        return Sheet(held)
    if ask.one("paste"):
        return _pasted(form)
    if ask.one("begin"):
        return _demo(form)
    if begun:
        out = Sheet(
            _begun(form, begun), begun=BEGUN_WITH if "face" in begun or "back" in begun else BEGUN_INSIDE
        )
    else:
        out = Sheet(held)
    edited = _edited(ask, out) or out.begun == BEGUN_INSIDE
    renumbered(out.held)
    for name in out.held:
        if name in _COUNTRIES or name.endswith("_origin"):
            out.held[name] = form.code(out.held[name])
    _settled(ask, out.held)
    if out.held and not edited and not ask.wrong:
        out.lines = written(out.held)
        out.body = out.lines.text
    return out


def _held(ask: Ask) -> dict[str, str]:
    """The filled fields of a layup."""
    return {
        name: ask.one(name)
        for name in ask.fields
        if ask.one(name)
        and (name in _SINGLE or ((m := ROW.fullmatch(name)) is not None and m[3] in _ROW_KEYS[m[1]]))
    }


def _settled(ask: Ask, held: Mapping[str, str]) -> None:
    """Put the fields as they are now in place of those that were sent, so that every link is that of this
    pack."""
    kept = {
        name: values
        for name, values in ask.fields.items()
        if name not in (*_SINGLE, "face", "back", "inner", "add", "paste", "begin")
        and not ROW.fullmatch(name)
        and not name.startswith("remove_")
        and any(values)
    }
    ask.fields = {**{name: [value] for name, value in held.items()}, **kept}


def _edited(ask: Ask, out: Sheet) -> bool:
    """Whether a row was to be added or taken out; takes it out."""
    if "add" in ask.fields:
        out.blank = 1
        return True
    gone = [int(m[1]) for name in ask.fields if (m := re.fullmatch(r"remove_([1-9][0-9]{0,2})", name))]
    for number in gone[:1]:
        _taken_out(out.held, number)
    return bool(gone)


def _taken_out(held: dict[str, str], number: int) -> None:
    """Take a ply out, with the leaves for it; the plies, lines and leaves after it move up."""
    plies = last_row(held, "ply")
    _drop(held, "ply", number)
    _drop(held, "line", min(number, max(plies - 1, 1)))
    for leaf in reversed(range(1, last_row(held, "leaf") + 1)):
        ply = held.get(f"leaf_{leaf}_ply", "")
        if ply == str(number):
            _drop(held, "leaf", leaf)
        elif ply.isascii() and ply.isdigit() and int(ply[:4]) > number:
            held[f"leaf_{leaf}_ply"] = str(int(ply[:4]) - 1)


def _drop(held: dict[str, str], row: str, number: int) -> None:
    """Take a row out; those after it move up."""
    last = last_row(held, row)
    for key in _ROW_KEYS[row]:
        values = [held.pop(f"{row}_{n}_{key}", "") for n in range(number, last + 1)]
        held.update({f"{row}_{number + at}_{key}": value for at, value in enumerate(values[1:]) if value})


def renumbered(held: dict[str, str]) -> None:
    """Close the gaps between rows of plies and of leaves."""
    for row in ("ply", "leaf"):
        for number in reversed(range(1, last_row(held, row))):
            if not any(f"{row}_{number}_{key}" in held for key in _ROW_KEYS[row]):
                if row == "ply":
                    _taken_out(held, number)
                else:
                    _drop(held, row, number)


def _pasted(form: Form) -> Sheet:
    # as it was pasted: blank lines and indentation at its head count; browsers end lines as letters do
    text = next(t for t in form.ask.fields["paste"] if t.strip()).replace("\r\n", "\n")
    if len(text.encode()) > MOST:
        form.at(
            "paste",
            BadRequest(
                f"this is more than {MOST:,} bytes, and a link that lasts holds no more",
                next="Leave comments out, or check the file with the command line.",
            ),
        )
        return Sheet()
    return _from_file(form, text if text.endswith("\n") else f"{text}\n", FILE)


def _demo(form: Form) -> Sheet:
    from woodref.paths import DEMO, data_dir

    name = form.ask.one("begin")
    if name not in dict(DEMOS):
        known = ", ".join(name for name, _ in DEMOS)
        form.at("paste", BadRequest("there is no layup of that name to begin from", expected=known))
        return Sheet()
    return _from_file(form, (data_dir() / DEMO / f"{name}.yaml").read_text("utf-8"), f"{name}.yaml")


def _from_file(form: Form, text: str, file: str) -> Sheet:
    """A file as it stands, and its fields once it can be read."""
    from woodref.layup.reader import load_layup

    out = Sheet(body=text, file=file)
    body = text.encode()
    try:
        load_layup(body, file)
        value = parse(body, file)
        value["plies"] = written_out(value, Faults(file, body))
    except WoodrefError as fault:
        tell(form, out, fault)
        return out
    out.held = fields_of(value)
    return out


def _begun(form: Form, named: Mapping[str, str]) -> dict[str, str]:
    """A pack of five plies with the woods handed over; a face alone is its own back."""
    ask = form.ask
    found: dict[str, Material] = {}
    for place in named:
        matched = form.wood(place)
        if matched is not None:
            found[place] = ask.catalogue.material(matched.id)
    if ask.wrong:
        ask.wrong["ply_1_material"] = " ".join(ask.wrong.pop(place) for place in named if place in ask.wrong)
        form.meant["ply_1_material"] = [one for place in named for one in form.meant.get(place, [])]
        return {"ply_1_material": next(iter(named.values()))}
    inside = found.get("inner") or ask.catalogue.material(INSIDE)
    face = found.get("face") or found.get("back")
    woods = {"face": face, "back": found.get("back") or face, "inner": inside}
    out = dict(REST) | ({"title": f"Pack with a face of {face.name}"} if face else {})
    for number, (place, grain) in enumerate(BEGUN, 1):
        material, part = woods[place], f"ply_{number}_"
        out |= {f"{part}thickness": INNER_MM if place == "inner" else LEAF_MM, f"{part}grain": grain}
        if material is not None:
            out[f"{part}material"] = _called(form, material)
            out[f"{part}cut"] = default_cut(material, place != "inner")
    return out


def _called(form: Form, material: Material) -> str:
    """A name that means this wood alone: the trade's, the botanical one, or the id."""
    from woodref.catalogue.names import resolve

    for name in filter(None, (material.name, material.botanical_name)):
        try:
            found = resolve(name, form.ask.catalogue, form.ask.shop.today)
        except WoodrefError:
            continue
        if found.id == material.id and not found.notices:
            return name
    return material.id


def rows_shown(sheet: Sheet) -> int:
    """Rows of plies that the form has."""
    return min((sheet.plies or 3) + (sheet.blank if sheet.plies else 0), MOST_PLIES + 1)
