"""The layup form: rows of plies, the report, the bench card and the file that gives the same answer."""

from __future__ import annotations

import dataclasses
import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any
from urllib.parse import parse_qsl, urlencode, urlsplit

import httpx
import pytest
from bs4 import BeautifulSoup, Tag
from click.testing import CliRunner
from hypothesis import given, settings
from hypothesis import strategies as st

from woodref.catalogue.reader import Catalogue
from woodref.catalogue.yamlload import load
from woodref.cli.main import main
from woodref.explorer.asking import Shop, ask_of
from woodref.explorer.drawing import answer
from woodref.explorer.layupasked import DEMOS, MOST
from woodref.explorer.layupfields import PLY, PLY_MORE, SECTIONS, fields_of
from woodref.explorer.layupwriting import quoted, written
from woodref.explorer.page import Answered
from woodref.layup.layupfile import KEYS, PLY_KEYS, parse, written_out
from woodref.layup.reader import load_layup
from woodref.layup.reading import Faults

DEMO = Path(__file__).resolve().parent.parent.parent / "data" / "demo"
FILES = sorted([*DEMO.glob("*.yaml"), *(DEMO.parent.parent / "tests" / "cli" / "layups").glob("*.yaml")])
#: three plies, as a person types them
PACK = {
    "ply_1_material": "Juglans nigra", "ply_1_cut": "crown", "ply_1_thickness": "0,6", "ply_1_grain": "0",
    "ply_2_material": "Betula pendula", "ply_2_thickness": "1.5 mm", "ply_2_grain": "90",
    "ply_2_moisture": "7",
    "ply_3_material": "Juglans nigra", "ply_3_cut": "crown", "ply_3_thickness": "0.024 in",
    "ply_3_grain": "0",
}  # fmt: skip
#: something in every section of a file
WHOLE = PACK | {
    "title": "Tray: the \"third\"", "ply_1_origin": "united states", "ply_1_acquired": "2019",
    "ply_2_figured": "1",
    "ply_4_unidentified": "red, heavy", "ply_4_thickness": "0.6", "ply_4_grain": "-45", "ply_4_rings": "45",
    "ply_4_cut": "rift",
    "glue_adhesive": "urea-formaldehyde", "glue_spread": "110", "line_2_adhesive": "epoxy",
    "line_2_spread": "180 g/m2",
    "press_heated": "70", "press_heated_from": "both", "press_at_set": "7", "press_pressure": "0.5",
    "press_altitude": "300", "mould_radius": "300", "mould_face": "concave", "mould_show_side": "away",
    "mould_angle": "60", "mould_bend": "0", "panel_length": "450", "panel_width": "420", "panel_count": "4",
    "panel_trim": "20", "face_match": "book", "face_centre": "joint", "face_same_flitch": "1",
    "face_parts_to_match": "4",
    "leaf_1_ply": "1", "leaf_1_width": "180", "leaf_1_length": "2400", "leaf_1_count": "8", "leaf_2_ply": "3",
    "leaf_2_width": "7 in", "leaf_2_length": "2.4 m", "room_temperature": "68 F", "room_rh_low": "30",
    "room_rh_high": "65", "sanding_face": "0.1", "sanding_back": "0.1", "finish_face": "oil",
    "finish_back": "same",
    "use": "seat", "target_areal_mass_max": "7", "target_load": "1300", "target_span": "380",
    "target_sag_max": "12",
    "plate_material": "Picea abies", "plate_cut": "quarter", "plate_thickness": "2.5", "journey_from": "GB",
    "journey_to": "Norway", "journey_form": "seat", "journey_state": "finished", "journey_origin": "FR",
    "limits_along": "60", "limits_across": "25",
    "waste_plain": "15", "waste_matched": "35", "waste_burr": "90 %",
}  # fmt: skip


def got(
    catalogue: Catalogue, fields: Mapping[str, str] | str = "", form: str = "", name: str = "layup"
) -> Answered:
    query = fields if isinstance(fields, str) else urlencode(fields)
    here = {"layup": f"/layup{form}", "card": "/layup/card", "written": "/layup.yaml"}[name]
    ask = ask_of(Shop(catalogue), {"format": form}, parse_qsl(query, keep_blank_values=True), here)
    return answer(f"layup:{name}", ask)


def page(catalogue: Catalogue, fields: Mapping[str, str] | str = "", status: int = 200) -> BeautifulSoup:
    found = got(catalogue, fields)
    assert found.status == status
    return BeautifulSoup(found.body, "html.parser")


def words(tag: Any) -> str:
    return " ".join(tag.get_text(" ").split())


def held(soup: BeautifulSoup) -> dict[str, str]:
    """The filled fields of the form, as a browser sends them."""
    out: dict[str, str] = {}
    for field in soup.select("form[data-short] [name]:not(button)"):
        if field.name == "select":
            chosen = field.select_one("option[selected]")
            value = str(chosen["value"]) if chosen else str(field.option["value"])  # type: ignore[index]
        elif field["type"] == "checkbox":
            value = "1" if field.has_attr("checked") else ""
        else:
            value = str(field["value"])
        if value:
            out[str(field["name"])] = value
    return out


def rows(soup: BeautifulSoup) -> list[str]:
    return [words(row.legend) for row in soup.select("[data-row]")]


def command(tmp_path: Path, text: str, *more: str, name: str = "layup.yaml") -> Any:
    file = tmp_path / name
    file.write_text(text, "utf-8")
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(tmp_path)
        return json.loads(CliRunner().invoke(main, ["layup", name, *more, "--json"]).output)


def test_the_form_has_a_field_for_each_key_of_a_file() -> None:
    assert {f.key for f in (*PLY, *PLY_MORE)} == set(PLY_KEYS)
    keys = (
        {s.key for s in SECTIONS}
        | {f.key for s in SECTIONS if not s.key for f in s.fields}
        | {"plies", "leaves"}
    )
    assert keys - {""} == set(KEYS)


def test_a_bare_page_offers_rows_and_something_to_begin_from(catalogue: Catalogue) -> None:
    soup = page(catalogue)
    assert rows(soup) == ["Ply 1", "Ply 2", "Ply 3"]
    assert held(soup) == {"units": "metric"}
    assert [str(a["href"]) for a in soup.select('a[href^="/layup?begin="]')] == [
        f"/layup?begin={n}" for n, _ in DEMOS
    ]
    assert {n for n, _ in DEMOS} == {f.stem for f in DEMO.glob("*.yaml")}
    bare = got(catalogue, "", ".json")
    assert bare.status == 400 and json.loads(bare.body)["error"]["code"] == "bad-layup"


@pytest.mark.parametrize(
    "fields", ["", PACK, WHOLE, "begin=drum-shell"], ids=["bare", "pack", "whole", "drum"]
)
def test_every_field_has_its_label_and_every_id_is_one(catalogue: Catalogue, fields: Any) -> None:
    soup = page(catalogue, fields)
    for field in soup.select("form input, form select, form textarea"):
        assert soup.select_one(f'label[for="{field["id"]}"]'), field
    ids = [tag["id"] for tag in soup.select("[id]")]
    assert len(ids) == len(set(ids))
    assert len(soup.find_all("h1")) == 1
    assert not soup.select("style, [style], script:not([src])")
    # Enter in any field presses the first button of its form
    first = soup.select_one("form[data-short] button")
    assert first is not None and words(first) == "Check the pack" and not first.has_attr("name")


def test_the_whole_form_covers_every_key() -> None:
    value, found = load(written(WHOLE).text.encode(), "layup.yaml")
    assert not found
    left = {k for k in KEYS if k not in value}
    assert not left
    for section in SECTIONS:
        for field in section.fields:
            inside = value[section.key] if section.key else value
            # a pack is cold or heated, flat or round, open or a ring
            if section.name(field) not in (
                "press_cold",
                "press_bag",
                "mould_flat",
                "mould_closed",
                "mould_second_radius",
            ):
                assert field.key in inside, field


@pytest.mark.parametrize("fields", [PACK, WHOLE], ids=["pack", "whole"])
def test_the_file_gives_the_answer_of_the_page(
    catalogue: Catalogue, tmp_path: Path, fields: dict[str, str]
) -> None:
    file = got(catalogue, fields, name="written")
    assert (file.status, file.kind) == (200, "text/yaml; charset=utf-8")
    assert file.headers["content-disposition"] == 'attachment; filename="layup.yaml"'
    ours = json.loads(got(catalogue, fields, ".json").body)
    assert ours == command(tmp_path, file.body)
    assert len(ours["pack"]) == 3 + ("ply_4_grain" in fields)


@pytest.mark.parametrize(
    ("more", "options"),
    [({"estimates": "1"}, ["--estimates"]), ({"backs": "1"}, ["--suggest-back"]), ({"units": "us"},
     ["--units", "us"]),
     ({"region": "Germany"}, ["--region", "DE"])],
)  # fmt: skip
def test_how_it_is_told_is_as_the_command_does(
    catalogue: Catalogue, tmp_path: Path, more: dict[str, str], options: list[str]
) -> None:
    fields = PACK | {"panel_length": "400", "panel_width": "300"} | more
    file = got(catalogue, fields, name="written").body
    assert json.loads(got(catalogue, fields, ".json").body) == command(tmp_path, file, *options)


@pytest.mark.parametrize("name", [name for name, _ in DEMOS])
def test_a_file_of_the_workshop_is_checked_as_it_stands(
    catalogue: Catalogue, tmp_path: Path, name: str
) -> None:
    text = (DEMO / f"{name}.yaml").read_text("utf-8")
    ours = json.loads(got(catalogue, f"begin={name}", ".json").body)
    assert ours == command(tmp_path, text, name=f"{name}.yaml")
    file = got(catalogue, f"begin={name}", name="written")
    assert file.body == text and f'"{name}.yaml"' in file.headers["content-disposition"]
    pasted = json.loads(got(catalogue, {"paste": text}, ".json").body)
    assert pasted == command(tmp_path, f"{text.strip()}\n")


def plain(value: Any) -> Any:
    """Values of a layup without where they stand in which file."""
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        out = {f.name: plain(getattr(value, f.name)) for f in dataclasses.fields(value)}
        return {k: v for k, v in out.items() if k not in ("where", "radius_where", "file")}
    return [plain(one) for one in value] if isinstance(value, tuple) else value


@pytest.mark.parametrize("file", FILES, ids=lambda f: f.stem)
def test_a_file_through_the_form_says_the_same(catalogue: Catalogue, file: Path) -> None:
    body = file.read_bytes()
    value = parse(body, file.name)
    value["plies"] = written_out(value, Faults(file.name, body))
    ours = written(fields_of(value)).text
    first, again = load_layup(body, file.name), load_layup(ours.encode(), file.name)
    assert plain(first) == plain(again)
    # and as a person sends it, once the file has been pasted
    soup = page(catalogue, {"paste": body.decode()})
    assert plain(load_layup(written(held(soup)).text.encode(), file.name)) == plain(first)


@settings(max_examples=150, deadline=None)
@given(st.text(max_size=30))
def test_any_text_comes_back_from_quotes(text: str) -> None:
    clean = text.encode("utf-8", "replace").decode()
    value, found = load(f"title: {quoted(clean)}\n".encode(), "layup.yaml")
    assert not found and value == {"title": clean}


@settings(max_examples=100, deadline=None)
@given(
    st.dictionaries(
        st.sampled_from(sorted(WHOLE)), st.text(max_size=12).map(str.strip).filter(bool), max_size=12
    )
)
def test_whatever_is_typed_every_fault_has_a_field(typed: dict[str, str]) -> None:
    fields = WHOLE | {
        k: v.encode("utf-8", "replace").decode().replace("\x00", "") or "x" for k, v in typed.items()
    }
    sheet = written(fields)
    value, found = load(sheet.text.encode(), "layup.yaml")
    for finding in found:
        assert sheet.field_at(finding.line, finding.says) in fields
    if value is not None:
        assert len(sheet.text.splitlines()) == len(sheet.lines)


def test_rows_are_added_and_taken_out_without_script(catalogue: Catalogue) -> None:
    soup = page(catalogue, PACK | {"add": "1", "title": "Kept"})
    assert rows(soup) == ["Ply 1", "Ply 2", "Ply 3", "Ply 4"]
    assert held(soup) == PACK | {"title": "Kept", "units": "metric"}
    assert soup.find(id="answer") is None
    add = soup.select_one("button[name=add]")
    assert add is not None and add["formaction"] == "/layup#ply_5_material"
    # the button of the page before led to the row that is new now
    before = page(catalogue, PACK).select_one("button[name=add]")
    assert (
        before is not None and soup.select_one(str(before["formaction"]).removeprefix("/layup")) is not None
    )
    gone = page(catalogue, PACK | {"remove_2": "1"})
    assert rows(gone) == ["Ply 1", "Ply 2"]
    assert held(gone)["ply_2_thickness"] == "0.024 in" and "ply_3_material" not in held(gone)
    assert [str(b["name"]) for b in gone.select("[data-row] button")] == ["remove_1", "remove_2"]
    assert gone.select_one("#plies[tabindex]") is not None


def test_what_is_said_of_a_ply_elsewhere_moves_with_it(catalogue: Catalogue) -> None:
    fields = held(page(catalogue, WHOLE | {"remove_1": "1", "line_1_spread": "99"}))
    assert "line_2_adhesive" not in fields and fields["line_1_adhesive"] == "epoxy"
    # the leaves for the ply that is gone are gone, those for ply 3 are for ply 2
    assert fields["leaf_1_ply"] == "2" and fields["leaf_1_width"] == "7 in" and "leaf_2_ply" not in fields
    assert held(page(catalogue, WHOLE | {"remove_2": "1"}))["leaf_2_ply"] == "2"


def test_a_blank_row_between_two_plies_is_none(catalogue: Catalogue) -> None:
    fields = {name.replace("ply_3", "ply_5"): value for name, value in PACK.items()}
    soup = page(catalogue, fields | {"ply_3_material": "", "ply_9_grain": " "})
    assert rows(soup) == ["Ply 1", "Ply 2", "Ply 3"] and held(soup) == PACK | {"units": "metric"}


def test_a_wood_is_put_into_five_plies(catalogue: Catalogue) -> None:
    soup = page(catalogue, "face=juglans-nigra")
    assert rows(soup) == [f"Ply {n}" for n in range(1, 6)]
    fields = held(soup)
    woods = [fields[f"ply_{n}_material"] for n in range(1, 6)]
    assert woods[0] == woods[4] == "Juglans nigra" and len(set(woods[1:4])) == 1
    assert [fields[f"ply_{n}_grain"] for n in range(1, 6)] == ["0", "90", "0", "90", "0"]
    assert "Five plies to begin from" in words(soup.main)
    told = json.loads(got(catalogue, "face=juglans-nigra", ".json").body)
    assert told["balanced_construction"] and len(told["pack"]) == 5
    # its link is that of the fields
    last = [str(a["href"]) for a in soup.select(".take a")][-1]
    assert dict(parse_qsl(urlsplit(last).query)) == {k: v for k, v in fields.items() if k != "units"}
    inner = page(catalogue, "inner=Betula+pendula")
    assert inner.find(id="answer") is None and held(inner)["ply_2_material"] == held(inner)["ply_4_material"]
    assert "name the face and the back" in words(inner.main)
    made = page(catalogue, "face=reconstituted-rosewood-figure")
    assert held(made)["ply_1_cut"] == "block-sliced"


@pytest.mark.parametrize(
    ("query", "found"), [("face=ebony", 5), ("back=wengee", 1), ("face=nothingatall&inner=teek", 1)]
)
def test_a_wood_that_is_not_one_is_asked_for_at_the_first_ply(
    catalogue: Catalogue, query: str, found: int
) -> None:
    soup = page(catalogue, query, 400)
    assert soup.find(id="ply_1_material-fault") is not None
    assert len(soup.select(".meant a")) >= found
    href = str(soup.select(".meant a")[0]["href"])
    assert got(catalogue, urlsplit(href).query).status in (200, 400)


def test_the_answer_is_told_in_order(catalogue: Catalogue) -> None:
    fields = {k: v for k, v in WHOLE.items() if not k.startswith("ply_4")} | {
        "backs": "1",
        "ply_2_figured": "",
    }
    soup, told = page(catalogue, fields), json.loads(got(catalogue, fields, ".json").body)
    section = soup.select_one('section[aria-labelledby="answer"]')
    assert section is not None
    heading = section.h2
    assert heading is not None and heading["id"] == "answer" and heading["tabindex"] == "-1"
    assert words(heading).startswith('Tray: the "third": 3 plies')
    assert [words(x) for x in section.select("dl.short dt")] == [s["asks"] for s in told["short"]]
    assert [words(x) for x in section.select("dl.short dd")] == [
        " ".join(f"{s['answer']}.".split()) for s in told["short"]
    ]
    headings = [words(h) for h in section.find_all("h3")]
    assert headings == [p["heading"] for p in told["page"]] + [
        "Backs that would balance it",
        "The pack, show face first",
    ]
    for part in told["page"]:
        at = next(h for h in section.find_all("h3") if words(h) == part["heading"])
        lines = at.find_next("ul").find_all("li")  # type: ignore[union-attr]
        for line, sentence in zip(lines, part["sentences"], strict=True):
            assert line.a is not None or words(line) == " ".join(sentence.split())
    assert "--" not in words(section) and "woodref " not in words(section)
    svg = section.select_one("figure svg")
    assert svg is not None and svg["role"] == "img" and not svg.select("style, [style]")
    assert len(section.select("table")[0].select("tbody tr")) == 3
    assert [words(c) for c in section.select("details caption")] == [
        t for t, k in (("A, N/mm", "A"), ("B, N", "B"), ("D, N mm", "D")) if told[k]
    ]


def test_what_the_command_would_do_next_leads_to_a_page_or_a_field(catalogue: Catalogue) -> None:
    fields = {k: v for k, v in PACK.items() if not k.startswith("ply_3")} | {
        "panel_length": "400",
        "panel_width": "300",
    }
    soup = page(catalogue, fields)
    assert soup.select_one('section a[href="#backs"]') is not None
    barred = page(catalogue, PACK | {"ply_1_material": "Dalbergia nigra", "journey_from": "GB",
    "journey_to": "US",
                                     "journey_form": "seat"})  # fmt: skip
    link = barred.select_one('section a[href^="/instead?of="]')
    assert link is not None and "Brazilian" in str(link["href"])


def test_pack_as_csv(catalogue: Catalogue) -> None:
    lines = got(catalogue, PACK, ".csv").body.splitlines()
    assert lines[0].startswith("ply,id,name,botanical_name,cut,thickness_mm") and len(lines) == 4


@pytest.mark.parametrize(
    ("change", "field", "says"),
    [
        ({"ply_2_material": "ebony"}, "ply_2_material", "Ply 2: The name"),
        ({"ply_2_material": "wengee"}, "ply_2_material", "Ply 2: no wood of the catalogue is called"),
        ({"ply_2_material": ""}, "ply_2_material", "Ply 2: a ply names no wood"),
        ({"ply_2_unidentified": "pale"}, "ply_2_material", "Ply 2: a ply is both named and unidentified"),
        ({"ply_2_thickness": ""}, "ply_2_thickness", "Ply 2: thickness is missing"),
        ({"ply_3_grain": ""}, "ply_3_grain", "Ply 3: grain is missing"),
        ({"ply_3_grain": "across"}, "ply_3_grain", 'Ply 3: grain: "across" is no angle'),
        ({"ply_3_grain": "100"}, "ply_3_grain", "is outside"),
        ({"ply_3_grain": "07"}, "ply_3_grain", "Ply 3: grain:"),
        ({"ply_1_thickness": "thin"}, "ply_1_thickness", "Ply 1: thickness:"),
        ({"ply_1_cut": "sawn"}, "ply_1_cut", 'Ply 1: cut: "sawn" is not known'),
        ({"ply_1_acquired": "long ago"}, "ply_1_acquired", "Ply 1:"),
        ({"ply_2_moisture": "70"}, "ply_2_moisture", "Ply 2: moisture:"),
        ({"glue_adhesive": "toffee"}, "glue_adhesive", "Glue and spread: no glue of the catalogue"),
        ({"glue_spread": "110"}, "glue_adhesive", "Glue and spread: glue names no adhesive"),
        ({"line_2_adhesive": "toffee", "line_1_adhesive": "epoxy"}, "line_2_adhesive",
         "Glue line 2: no glue"),
        ({"line_5_adhesive": "epoxy", "glue_adhesive": "epoxy"}, "line_1_adhesive",
         "5 glue lines for 3 plies"),
        ({"press_at_set": "7"}, "press_at_set", "Press: this is for a heated mould alone"),
        ({"press_cold": "20", "press_heated": "70"}, "press_heated", "both cold and heated"),
        ({"press_bag": "1", "press_pressure": "0.1"}, "press_pressure", "a bag presses as the air does"),
        ({"mould_radius": "2 km"}, "mould_radius", "Mould:"),
        ({"mould_radius": "3"}, "mould_radius", "Mould:"),
        ({"mould_face": "concave"}, "mould_radius", "Mould: the mould has no radius"),
        ({"mould_radius": "300", "mould_angle": "300", "panel_length": "300"}, "mould_angle", "degrees take"),
        ({"panel_count": "many"}, "panel_count", "Panel: count:"),
        ({"face_match": "mirror"}, "face_match", "Face match: match:"),
        ({"leaf_2_ply": "1", "leaf_2_width": "100"}, "leaf_1_length",
         "Leaves, row 1: length of the leaves is missing"),
        ({"leaf_1_ply": "9"}, "leaf_1_ply", "Leaves, row 1: ply:"),
        ({"room_rh_low": "70", "room_rh_high": "40"}, "room_rh_low", "is above"),
        ({"room_temperature": "warm"}, "room_temperature", "Room it lives in: temperature:"),
        ({"sanding_face": "2"}, "sanding_face", "goes through a face"),
        ({"use": "boat"}, "use", 'Title and use: use: "boat" is not known'),
        ({"target_load": "heavy"}, "target_load", "What it must do: load:"),
        ({"plate_cut": "quarter"}, "plate_material", "material of the solid plate is missing"),
        ({"plate_material": "wengee", "plate_thickness": "2", "use": "sounding-plate"}, "plate_material",
         "Solid plate to sound like: no wood"),
        ({"journey_from": "GB"}, "journey_to", "Journey: to of the journey is missing"),
        ({"journey_from": "Narnia", "journey_to": "DE", "journey_form": "seat"}, "journey_from", '"Narnia"'),
        ({"journey_from": "GB", "journey_to": "DE", "journey_form": "hat"}, "journey_form", '"hat"'),
        ({"journey_from": "GB", "journey_to": "DE", "journey_form": "seat", "ply_3_origin": "Xanadu"},
         "ply_3_origin",
         '"Xanadu"'),
        ({"journey_from": "GB", "journey_to": "DE", "journey_form": "seat", "journey_origin": "Xanadu"},
         "journey_origin",
         '"Xanadu"'),
        ({"limits_across": "wide"}, "limits_across", "Bend limits of your shop: across:"),
        ({"region": "Narnia"}, "region", '"Narnia" is not a country.'),
        ({"units": "cubits"}, "units", '"cubits" is not one of'),
        ({"face": "teak"}, "ply_1_material", "More than one layup is given"),
    ],
)  # fmt: skip
def test_a_fault_stands_at_its_field_and_nothing_typed_is_lost(
    catalogue: Catalogue, change: dict[str, str], field: str, says: str
) -> None:
    soup = page(catalogue, PACK | change, 400)
    fault = soup.find(id=f"{field}-fault")
    assert fault is not None, [words(x) for x in soup.select(".fault")]
    assert says in words(fault) and "layup.yaml" not in words(fault)
    holder = soup.find(id=field)
    assert isinstance(holder, Tag) and holder["aria-invalid"] == "true"
    folded = holder.find_parent("details")
    while folded is not None:
        assert folded.has_attr("open")
        folded = folded.find_parent("details")
    box = soup.find(id="answer")
    assert isinstance(box, Tag) and box["role"] == "alert" and box.select_one(f'a[href="#{field}"]')
    kept = held(soup)
    for name, value in (PACK | change).items():
        choices = ("ply_1_cut", "face_match", "use", "units", "journey_form", "face")
        if value and name not in choices and not name.startswith(("leaf_2", "journey_origin")):
            assert kept[name] == value
    for name in ("card", "written"):
        assert got(catalogue, PACK | change, name=name).status == 400
    assert "error" in json.loads(got(catalogue, PACK | change, ".json").body)


def test_several_faults_are_all_told(catalogue: Catalogue) -> None:
    soup = page(catalogue, PACK | {"ply_1_grain": "x", "ply_2_thickness": "y", "panel_trim": "z"}, 400)
    assert [words(x)[:6] for x in soup.select("#answer li")] == ["Ply 1:", "Ply 2:", "Panel:"]


def test_a_name_of_a_ply_that_several_woods_share_is_asked_back(catalogue: Catalogue) -> None:
    soup = page(catalogue, PACK | {"ply_2_material": "ebony", "title": "Tray"}, 400)
    links = [str(a["href"]) for a in soup.select(".meant a")]
    assert len(links) == 5
    again = page(catalogue, urlsplit(links[0]).query)
    assert again.find(id="answer") is not None
    assert held(again) == PACK | {
        "ply_2_material": "dalbergia-melanoxylon",
        "title": "Tray",
        "units": "metric",
    }


def test_a_pasted_file_stands_in_the_form_and_its_faults_at_the_paste(catalogue: Catalogue) -> None:
    text = (DEMO / "seat-shell.yaml").read_text("utf-8")
    soup = page(catalogue, {"paste": text})
    assert rows(soup) == [f"Ply {n}" for n in range(1, 8)]
    assert soup.find(id="paste").get_text() == "\n"  # type: ignore[union-attr]
    assert got(catalogue, {"paste": text}, name="written").body == f"{text.strip()}\n"
    wrong = page(catalogue, {"paste": text.replace("0.6 mm", "0.6")}, 400)
    assert "Line 9: thickness" in words(wrong.find(id="paste-fault"))
    assert wrong.find(id="paste").get_text().strip() == text.replace("0.6 mm", "0.6").strip()  # type: ignore[union-attr]
    for bad, says in (("plies: [", "Line 2:"), ("hello", "this is no layup"), ("plies: []",
    "there is no ply"),
                      ("seat: 1\nplies:\n- {material: teak, thickness: 1 mm, grain: 0}", "Line 1:"),
                      ("plies:\n- {material: ebony, thickness: 1 mm, grain: 0}",
                       "Line 2: The name")):  # fmt: skip
        assert (
            says.casefold() in words(page(catalogue, {"paste": bad}, 400).find(id="paste-fault")).casefold()
        )


def test_a_paste_keeps_its_lines(catalogue: Catalogue) -> None:
    text = "\n\n  plies:\n  - {material: teak, thickness: 1 mm, grain: 0}\n  title: Tray"
    assert got(catalogue, {"paste": text}, name="written").body == f"{text}\n"
    assert got(catalogue, {"paste": text.replace("\n", "\r\n")}, name="written").body == f"{text}\n"
    wrong = page(catalogue, {"paste": text.replace("teak", "teek")}, 400)
    assert words(wrong.find(id="paste-fault")).startswith("Line 4: ")
    told = json.loads(got(catalogue, {"paste": text.replace("teak", "teek")}, ".json").body)
    assert told["error"]["where"] == "layup.yaml:4"


def test_a_paste_is_taken_whole_or_refused(catalogue: Catalogue) -> None:
    pack = "plies:\n- {material: teak, thickness: 1 mm, grain: 0}\n# "
    fits = pack + "x" * (MOST - len(pack))
    found = got(catalogue, {"paste": fits})
    assert found.status == 200 and len(found.body.encode()) < 150_000
    assert got(catalogue, {"paste": fits}, name="written").body == f"{fits}\n"
    lines = pack + "\r\n" * (MOST - len(pack))
    assert got(catalogue, {"paste": lines}).status == 200
    for long in (fits + "x", lines + "\r\n", pack + "ä" * (MOST // 2), fits * 5):
        soup = page(catalogue, {"paste": long}, 400)
        assert "more than 8,192 bytes" in words(soup.find(id="paste-fault"))
    soup = page(catalogue, PACK | {"paste": pack}, 400)
    assert "More than one layup is given" in words(soup.find(id="paste-fault"))
    assert "there is no layup of that name" in words(page(catalogue, "begin=chair", 400)).casefold()


def test_the_bench_card_is_a_page_of_its_own(catalogue: Catalogue) -> None:
    fields = WHOLE | {"panel_count": "3"}
    link = page(catalogue, fields).select_one('section a[href^="/layup/card?"]')
    assert link is not None
    found = got(catalogue, urlsplit(str(link["href"])).query, name="card")
    assert (found.status, found.kind, found.headers) == (200, "text/html; charset=utf-8", {})
    soup = BeautifulSoup(found.body, "html.parser")
    assert not soup.select("style, [style], script:not([src])")
    assert [str(x["href"]) for x in soup.select("link")] == ["/layup/card.css", "/layup/drawing.css"]
    assert "Tray" in words(soup.h1) and len(soup.select("ol.plies li")) == 4
    back = soup.select_one("nav.screen a")
    assert back is not None
    assert held(page(catalogue, urlsplit(str(back["href"])).query)) == held(page(catalogue, fields))
    print_ = soup.select_one("button[data-print]")
    assert print_ is not None and print_.has_attr("hidden")


def test_a_card_that_stands_alone_carries_its_style(tmp_path: Path) -> None:
    CliRunner().invoke(
        main, ["layup", str(DEMO / "seat-shell.yaml"), "--bench-card", str(tmp_path / "card.html")]
    )
    soup = BeautifulSoup((tmp_path / "card.html").read_text("utf-8"), "html.parser")
    assert len(soup.select("head style")) == 1 and not soup.select("link, script, .screen, [style]")
    assert ".plies" in soup.style.get_text()  # type: ignore[union-attr]


@pytest.mark.parametrize(
    "text", ['"><script>alert(1)</script>', "\u2028\x07", "{{7*7}}", "&a *b !c", "9" * 2500, "- {", "=1+1"]
)
def test_hostile_text_in_any_field_is_shown_as_text(catalogue: Catalogue, text: str) -> None:
    names = {str(f["name"]) for f in page(catalogue, WHOLE).select("form [name]:not(button)")}
    assert len(names) > 100
    for name in sorted(
        names | {"face", "back", "inner", "begin", "add", "remove_x", "ply_0_grain", "ply_99_grain"}
    ):
        fields = {name: text} if name in ("paste", "face", "back", "inner", "begin") else PACK | {name: text}
        for where in ("layup", "card", "written"):
            found = got(catalogue, fields, name=where)
            assert found.status < 500, (name, where)
            if found.kind.startswith("text/html"):
                assert "<script>alert" not in found.body


def test_sixty_plies_are_taken_and_one_more_is_not(catalogue: Catalogue) -> None:
    many = {f"ply_{n}_{k}": v for n in range(1, 61) for k, v in
            (("material", "Betula pendula"), ("thickness", "1"), ("grain", "0"))}  # fmt: skip
    assert got(catalogue, many, ".json").status == 200
    more = many | {"ply_61_material": "Betula pendula", "ply_61_thickness": "1", "ply_61_grain": "0"}
    assert "more than 60 plies" in words(page(catalogue, more, 400).select_one("#answer"))


@pytest.mark.parametrize("name", [name for name, _ in DEMOS])
def test_weight_of_the_page(catalogue: Catalogue, name: str) -> None:
    assert len(got(catalogue, f"begin={name}&backs=1").body.encode()) < 150_000


async def test_served_the_pages_load_nothing_but_our_own_files(catalogue: Catalogue) -> None:
    from woodref.explorer.serving import app_of, explorer

    made = explorer(Shop(catalogue))
    await made.invoke_startup()
    transport = httpx.ASGITransport(app=app_of(made))
    async with httpx.AsyncClient(transport=transport, base_url="http://127.0.0.1:8321") as client:
        for path in ("/layup", "/layup/card"):
            found = await client.get(path, params=WHOLE)
            assert found.status_code == 200
            assert "unsafe" not in found.headers["content-security-policy"]
            soup = BeautifulSoup(found.text, "html.parser")
            links = [str(t.get("src") or t.get("href")) for t in soup.select("[src], link[href]")]
            assert len(links) >= 3
            for link in links:
                there = await client.get(link)
                assert link.startswith("/") and there.status_code == 200
                assert not link.endswith(".css") or there.headers["content-type"].startswith("text/css")
            assert not [key for tag in soup.find_all(True) for key in tag.attrs if key.startswith("on")]
        file = await client.get("/layup.yaml", params=PACK)
        assert file.headers["content-disposition"] == 'attachment; filename="layup.yaml"'
        assert file.headers["content-type"] == "text/yaml; charset=utf-8"
        assert (await client.get("/layup/other.css")).status_code == 404
