"""A bundle gives another shop the same numbers, and says so when it does not."""

from __future__ import annotations

import datetime as dt
import hashlib
import importlib.util
import io
import json
import zipfile
from collections.abc import Callable
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from woodref.catalogue.reader import Catalogue
from woodref.errors import BadBundle, BadRequest, WoodrefError
from woodref.layup.bundle import NAMES, Bundle, bundle, place_for, read_bundle
from woodref.layup.bundlecheck import Checked, check
from woodref.layup.reader import body_of, load_layup
from woodref.layup.report import report

HERE = Path(__file__).resolve().parent
DEMO = HERE.parent.parent / "data" / "demo"
ON = dt.date(2026, 6, 1)
SHELL = (DEMO / "seat-shell.yaml").read_bytes()


def _strategies() -> ModuleType:
    """The packs that the report is tried with."""
    spec = importlib.util.spec_from_file_location("any_layups", HERE / "test_report_properties.py")
    assert spec is not None and spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


ANY = _strategies()


@pytest.fixture(scope="module")
def shell(catalogue: Catalogue) -> bytes:
    return bundle(SHELL, "seat-shell.yaml", catalogue, ON)


def files_in(body: bytes) -> dict[str, bytes]:
    with zipfile.ZipFile(io.BytesIO(body)) as opened:
        return {entry.filename: opened.read(entry) for entry in opened.infolist()}


def made_of(files: dict[str, bytes]) -> bytes:
    """A zip whose sums hold, as somebody makes it who knows how a bundle is made."""
    rest = {name: body for name, body in files.items() if name != "MANIFEST"}
    sums = "".join(f"{hashlib.sha256(body).hexdigest()}  {name}\n" for name, body in sorted(rest.items()))
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as made:
        for name, body in {**rest, "MANIFEST": sums.encode()}.items():
            made.writestr(name, body)
    return out.getvalue()


def altered(body: bytes, name: str, change: Callable[[Any], None]) -> bytes:
    """The bundle with one of its JSON files changed and its sums made anew."""
    files = files_in(body)
    value = json.loads(files[name])
    change(value)
    return made_of(files | {name: json.dumps(value).encode()})


def checked(body: bytes, catalogue: Catalogue) -> Checked:
    return check(read_bundle(body, "shell.zip"), catalogue, "shell.zip")


# --- written


def test_the_same_layup_gives_the_same_bytes(catalogue: Catalogue, shell: bytes) -> None:
    assert bundle(SHELL, "/bench/of/somebody/seat-shell.yaml", catalogue, ON) == shell
    assert b"somebody" not in shell
    assert bundle(SHELL, "seat-shell.yaml", catalogue, ON, system="us") != shell


def test_its_names_are_in_order_its_times_fixed_and_its_sums_those_of_the_files(shell: bytes) -> None:
    with zipfile.ZipFile(io.BytesIO(shell)) as opened:
        entries = opened.infolist()
    assert [e.filename for e in entries] == sorted(["MANIFEST", *NAMES])
    assert {e.date_time for e in entries} == {(1980, 1, 1, 0, 0, 0)}
    assert {e.compress_type for e in entries} == {zipfile.ZIP_STORED}
    files = files_in(shell)
    assert files["layup.yaml"] == SHELL
    lines = files["MANIFEST"].decode().splitlines()
    assert lines == [f"{hashlib.sha256(files[name]).hexdigest()}  {name}" for name in sorted(NAMES)]


def test_every_figure_that_went_into_the_report_stands_in_it_with_its_place(
    catalogue: Catalogue, shell: bytes
) -> None:
    files = files_in(shell)
    held = json.loads(files["figures.json"])
    woods = {wood["id"]: wood for wood in held["woods"]}
    told = json.loads(files["report.json"])
    seen = 0
    for ply in told["pack"]:
        figures = {f["property"]: f for f in woods[ply["id"]]["figures"]}
        assert ply["ply"] in woods[ply["id"]]["plies"]
        for used in ply["figures"]:
            figure = figures[used["property"]]
            assert (figure["value"], figure["unit"]) == (used["value"], used["unit"])
            assert " ".join(p for p in (figure["source"], figure["locator"]) if p) == used["source"]
            assert {"condition", "evidence"} <= figure.keys()
            seen += 1
    assert seen > 60
    density = next(f for f in woods["juglans-nigra"]["figures"] if f["property"] == "density")
    assert density["condition"] == {"mc": 12.0} and density["evidence"] == "quoted"
    assert density == density | {"source": "fpl-gtr-190", "locator": "Table 5-3a", "value": 616.0}
    assert [g["id"] for g in held["glues"]] == ["urea-formaldehyde"]
    assert held["glues"][0] == catalogue.adhesives["urea-formaldehyde"]
    cited = {f["source"] for w in woods.values() for f in w["figures"]}
    assert {s["id"] for s in held["sources"]} == cited
    about = json.loads(files["bundle.json"])
    assert about["catalogue"] == catalogue.stamp and about["day"] == "2026-06-01"
    assert "Will it keep its bend?" in files["report.txt"].decode()
    assert files["bench-card.html"].startswith(b"<!doctype html>")


def test_nothing_that_stands_is_written_over(tmp_path: Path) -> None:
    there = tmp_path / "there.zip"
    place_for(there)
    there.write_bytes(b"")
    with pytest.raises(BadRequest, match="is there already"):
        place_for(there)
    with pytest.raises(BadRequest, match=r"does not end in \.zip"):
        place_for(tmp_path / "shell.yaml")
    with pytest.raises(BadRequest, match="no what-if"):
        place_for(tmp_path / "new.zip", edits=True)


# --- worked anew


@pytest.mark.parametrize("name", sorted(p.name for p in DEMO.glob("*.yaml")))
@pytest.mark.parametrize("guess", [False, True])
def test_the_workshops_layups_come_out_the_same(name: str, guess: bool, catalogue: Catalogue) -> None:
    body = (DEMO / name).read_bytes()
    made = bundle(body, name, catalogue, ON, guess=guess)
    found = checked(made, catalogue)
    assert found.same and found.law_same and found.text_same and found.card_same
    assert found.numbers > 250 and not found.beside.count and not found.by_here
    # the report in it is the one that the catalogue gives
    plain = report(load_layup(body, name), catalogue, ON, guess=guess).as_dict()
    assert json.loads(json.dumps(plain)) == json.loads(files_in(made)["report.json"])


@settings(max_examples=80, deadline=None, suppress_health_check=list(HealthCheck))
@given(st.data())
def test_any_pack_comes_back_whole(catalogue: Catalogue, data: st.DataObject) -> None:
    body = json.dumps(data.draw(ANY.layups())).encode()
    guess, system = data.draw(st.booleans()), data.draw(st.sampled_from(["metric", "us"]))
    made = bundle(body, "any.yaml", catalogue, ON, guess=guess, system=system)
    back = read_bundle(made, "any.zip")
    assert back.body == body and back.about.estimates is guess and back.about.units == system
    found = check(back, catalogue, "any.zip")
    assert found.same and found.text_same and found.card_same, found.sentences()
    assert not found.beside.count, found.beside.sentences()
    json.dumps(found.as_dict(), allow_nan=False)


def test_a_wood_worked_out_from_its_weight_and_a_board_keep_their_figures(catalogue: Catalogue) -> None:
    body = json.dumps({"plies": [
        {"material": "reconstituted-rosewood-figure", "thickness": "0.6 mm", "grain": 0},
        {"material": "birch plywood", "thickness": "6 mm", "grain": 0},
        {"material": "Dalbergia latifolia", "thickness": "0.6 mm", "grain": 0},
    ]}).encode()  # fmt: skip
    made = bundle(body, "odd.yaml", catalogue, ON, guess=True)
    woods = {w["id"]: w for w in json.loads(files_in(made)["figures.json"])["woods"]}
    rosewood = {f["property"]: f for f in woods["dalbergia-latifolia"]["figures"]}
    assert any(f["evidence"] == "estimated" and f["added_error"] for f in rosewood.values())
    assert any(w["board"] for w in woods.values())
    assert checked(made, catalogue).same


def test_the_numbers_are_worked_from_the_bundles_figures_and_not_from_those_held_here(
    catalogue: Catalogue, shell: bytes
) -> None:
    """Walnut made a fifth heavier: the report in the bundle no longer follows from its figures."""

    def heavier(value: Any) -> None:
        for wood in value["woods"]:
            for figure in wood["figures"]:
                if (wood["id"], figure["property"]) == ("juglans-nigra", "density"):
                    figure["value"] = 740.0

    found = checked(altered(shell, "figures.json", heavier), catalogue)
    assert not found.same
    paths = {d.path for d in found.differ}
    assert {"areal_mass_g_m2", "pack[0].density_kg_m3", "pack[6].density_kg_m3"} <= paths
    assert "thickness_mm" not in paths and "pack[1].density_kg_m3" not in paths
    said = " ".join(found.sentences())
    assert "pack[0].density_kg_m3: 616 in the bundle, 740 worked anew." in said
    assert "so its report or its figures were altered afterwards" in said
    assert (
        "Weight of black walnut: 740 kg/m3 at 12 % moisture (read in table, fpl-gtr-190 Table 5-3a) in the "
        "bundle, 616 kg/m3 at 12 % moisture (read in table, fpl-gtr-190 Table 5-3a) here."
    ) in said
    assert "weight: " in said and "by the figures here" in said


def test_means_of_a_class_rules_for_boards_and_glue_data_are_the_bundles_own_too(
    catalogue: Catalogue,
) -> None:
    body = json.dumps({"plies": [
        {"material": "Juglans regia", "thickness": "0.6 mm", "grain": 0},
        {"material": "birch plywood", "thickness": "6 mm", "grain": 0},
        {"material": "Juglans regia", "thickness": "0.6 mm", "grain": 0},
    ], "glue": {"adhesive": "urea-formaldehyde"}}).encode()  # fmt: skip
    made = bundle(body, "board.yaml", catalogue, ON)

    def glue(value: Any) -> None:
        value["glues"][0]["solids_share"] = {"low": 0.9, "high": 0.9}

    def mean(value: Any) -> None:
        walnut = next(w for w in value["woods"] if w["id"] == "juglans-regia")
        told = next(f for f in walnut["figures"] if f["property"] == "ratio_et_el")
        assert told["source"] == "rule-class-ratios" and told["evidence"] == "estimated"
        told["value"] *= 2

    def board(value: Any) -> None:
        next(w for w in value["woods"] if w["kind"] == "core")["board"]["e2"] *= 2

    for change, path, says in (
        (
            glue,
            "areal_mass_g_m2",
            "Glue urea-formaldehyde, solids_share: 0.9 to 0.9 in the bundle, 0.6 to 0.7",
        ),
        (
            mean,
            "pack[0].E_across_GPa",
            "ET/EL of European walnut: 0.12 at 12 % moisture (worked out, rule-class-ratios",
        ),
        (
            board,
            "pack[1].E_across_GPa",
            "birch plywood, rule for boards: e2 1.4; nu 0.1; g 0.06; in_plane 0.0002; through 0.003",
        ),
    ):
        found = checked(altered(made, "figures.json", change), catalogue)
        assert path in {d.path for d in found.differ}
        assert says in " ".join(found.sentences()), found.sentences()


def test_a_report_altered_with_new_sums_is_found_out(catalogue: Catalogue, shell: bytes) -> None:
    found = checked(altered(shell, "report.json", lambda v: v.update(areal_mass_g_m2=1.0)), catalogue)
    assert not found.same and [d.path for d in found.differ] == ["areal_mass_g_m2"]
    files = files_in(shell)
    card = files["bench-card.html"].replace(b"</body>", b"<script>1</script></body>")
    found = checked(made_of(files | {"bench-card.html": card}), catalogue)
    assert not found.same and not found.differ
    assert any("somebody has altered it: do not press by it" in line for line in found.sentences())


def test_an_older_version_is_named_as_the_reason(catalogue: Catalogue, shell: bytes) -> None:
    body = altered(shell, "report.json", lambda v: v.update(thickness_mm=1.0))
    body = altered(body, "bundle.json", lambda v: v.update(woodref="0.0.9"))
    said = " ".join(checked(body, catalogue).sentences())
    assert "another version of woodref made it" in said and "altered" not in said


def test_the_law_is_asked_of_the_lists_held_here(catalogue: Catalogue, shell: bytes) -> None:
    def other_law(value: Any) -> None:
        value["trade"][0]["listed"], value["trade_answer"] = True, "stop"
        value["short"][7]["answer"] = "it may not go"

    found = checked(altered(shell, "report.json", other_law), catalogue)
    assert found.same and not found.law_same
    assert any("say otherwise than the bundle" in line for line in found.sentences())
    # the mass of a wood in the part is a number of the part, whatever the law says of it
    found = checked(altered(shell, "report.json", lambda v: v["trade"][0].update(kg=9.0)), catalogue)
    assert [d.path for d in found.differ] == ["trade[0].kg"]


def test_what_the_catalogue_here_lacks_or_names_otherwise_is_told(catalogue: Catalogue, shell: bytes) -> None:
    """A wood of a list that only the other shop has."""

    def foreign(value: Any) -> None:
        for wood in value["woods"]:
            if wood["id"] == "juglans-nigra":
                wood["id"], wood["name"] = "my/shed/juglans", "shed walnut"
        for name in value["names"]:
            if name["id"] == "juglans-nigra":
                name["id"] = "my/shed/juglans"

    found = checked(altered(shell, "figures.json", foreign), catalogue)
    said = " ".join(found.sentences())
    assert "shed walnut (my/shed/juglans) is not in the catalogue held here." in said
    assert (
        'The name "black walnut" stands for my/shed/juglans in the bundle and for juglans-nigra here.' in said
    )


def test_a_bundle_of_the_first_edition_is_still_read(catalogue: Catalogue) -> None:
    """Its numbers hang on the ways of the day; that it can be read and told of does not."""
    old = (HERE.parent / "faults" / "bundle-v1.zip").read_bytes()
    found = checked(old, catalogue)
    assert found.title == "tray" and found.numbers > 100 and found.bundle.about.day == ON
    assert found.bundle.gathered.woods["birch-plywood"].kind == "core"


# --- refused


def test_spoilt_files_are_named(catalogue: Catalogue, shell: bytes) -> None:
    files = files_in(shell)
    with pytest.raises(BadBundle, match=r"report.txt is not as it was"):
        read_bundle(_with(files, {"report.txt": b"all is well"}), "x.zip")
    both = {"report.txt": b"a", "layup.yaml": b"b"}
    with pytest.raises(BadBundle, match=r"layup.yaml and report.txt are not as they were"):
        read_bundle(_with(files, both), "x.zip")
    with pytest.raises(BadBundle, match=r"figures.json is wanting"):
        read_bundle(_with({k: v for k, v in files.items() if k != "figures.json"}, {}), "x.zip")


def _with(files: dict[str, bytes], other: dict[str, bytes], packed: int = zipfile.ZIP_STORED) -> bytes:
    """A zip of files as they are: sums are not made anew."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", packed) as made:
        for name, body in {**files, **other}.items():
            made.writestr(name, body)
    return out.getvalue()


@pytest.mark.parametrize(
    "name", ["../../etc/passwd", "/etc/passwd", "..\\up", "layup.yaml/", "notes.txt", "C:x"]
)
def test_a_file_of_another_name_is_refused_and_never_written(name: str, shell: bytes) -> None:
    with pytest.raises(BadBundle, match="it holds what no bundle holds"):
        read_bundle(_with(files_in(shell), {name: b"x"}), "x.zip")


def test_a_file_twice_is_refused(shell: bytes) -> None:
    out = io.BytesIO(shell)
    with zipfile.ZipFile(out, "a") as made, pytest.warns(UserWarning, match="Duplicate"):
        made.writestr("layup.yaml", b"plies: []")
    with pytest.raises(BadBundle, match=r"layup.yaml stands in it twice"):
        read_bundle(out.getvalue(), "x.zip")


def test_a_bomb_is_told_by_its_size(shell: bytes) -> None:
    bomb = _with(files_in(shell), {"report.txt": b"0" * 50_000_000}, zipfile.ZIP_DEFLATED)
    assert len(bomb) < 200_000
    with pytest.raises(BadBundle, match=r"report.txt is larger than 4,000,000 bytes once unpacked"):
        read_bundle(bomb, "x.zip")
    with pytest.raises(BadBundle, match="larger than 8,000,000 bytes"):
        read_bundle(shell + b"0" * 8_000_000, "x.zip")


def test_a_size_that_lies_is_not_believed(shell: bytes) -> None:
    """The directory says 10 bytes, and much more comes out."""
    bomb = bytearray(_with(files_in(shell), {"report.txt": b"0" * 9_000_000}, zipfile.ZIP_DEFLATED))
    for mark in (b"PK\x01\x02", b"PK\x03\x04"):
        at, size = (24, 46) if mark == b"PK\x01\x02" else (22, 30)
        start = bomb.find(b"report.txt") if mark == b"PK\x03\x04" else bomb.rfind(b"report.txt")
        assert bomb[start - size : start - size + 4] == mark
        bomb[start - size + at : start - size + at + 4] = (10).to_bytes(4, "little")
    with pytest.raises(BadBundle):
        read_bundle(bytes(bomb), "x.zip")


def test_a_locked_or_strangely_packed_file_is_refused(shell: bytes) -> None:
    tight = _with(files_in(shell), {}, zipfile.ZIP_LZMA)
    with pytest.raises(BadBundle, match="packed in a way that no bundle is"):
        read_bundle(tight, "x.zip")
    locked = bytearray(shell)
    start = locked.rfind(b"PK\x01\x02")  # the last entry of the directory
    locked[start + 8] |= 1
    with pytest.raises(BadBundle, match=r"locked with a password|no whole zip"):
        read_bundle(bytes(locked), "x.zip")


@pytest.mark.parametrize("sums", [b"", b"nonsense\n", b"\xff\xfe", b"0" * 64 + b"  ../x\n"])
def test_a_manifest_that_is_none_is_refused(sums: bytes, shell: bytes) -> None:
    with pytest.raises(BadBundle, match="MANIFEST"):
        read_bundle(_with(files_in(shell), {"MANIFEST": sums}), "x.zip")


@pytest.mark.parametrize(
    ("name", "body", "says"),
    [
        ("figures.json", b"{", "it is no JSON"),
        ("figures.json", b'{"woods": NaN}', "NaN is no number"),
        ("figures.json", b'{"woods": [], "woods": []}', "a key stands in it twice"),
        ("figures.json", b"[" * 200_000, "too many levels deep"),
        ("figures.json", b"1" * 9_000, "it is no JSON"),
        ("figures.json", b"\xff", "no UTF-8 text"),
        ("figures.json", b"[]", "the whole"),
        ("bundle.json", b'{"bundle": 2}', "bundle"),
        ("report.json", b"[]", "it is no report"),
        ("report.txt", b"\xff", "no UTF-8 text"),
    ],
)
def test_a_file_that_cannot_be_read_is_named(name: str, body: bytes, says: str, shell: bytes) -> None:
    with pytest.raises(BadBundle, match=says) as fault:
        read_bundle(made_of(files_in(shell) | {name: body}), "x.zip")
    assert name in str(fault.value)


def _cut_short(body: bytes) -> list[bytes]:
    return [body[:length] for length in (0, 1, 4, 30, 1000, len(body) // 2, len(body) - 1)]


def test_a_broken_zip_is_a_sentence(shell: bytes) -> None:
    for part in [*_cut_short(shell), b"PK\x03\x04", b"PK\x05\x06" + bytes(18), b"no zip at all"]:
        with pytest.raises(BadBundle) as fault:
            read_bundle(part, "x.zip")
        assert str(fault.value).startswith("x.zip: ") and fault.value.exit_code == 1


@settings(max_examples=150, deadline=None, suppress_health_check=list(HealthCheck))
@given(st.data())
def test_bytes_that_were_changed_never_pass_and_never_break_it(shell: bytes, data: st.DataObject) -> None:
    body = bytearray(shell)
    for _ in range(data.draw(st.integers(1, 4))):
        body[data.draw(st.integers(0, len(body) - 1))] = data.draw(st.integers(0, 255))
    try:
        assert isinstance(read_bundle(bytes(body), "x.zip"), Bundle)
    except BadBundle:
        return
    # what is read all the same differs in nothing that the files hold: dates and the like
    assert {k: v for k, v in files_in(bytes(body)).items()} == files_in(shell)


ODD: st.SearchStrategy[Any] = st.one_of(
    st.none(), st.booleans(), st.integers(-(10**30), 10**30), st.text(max_size=20),
    st.floats(allow_nan=False, allow_infinity=False), st.lists(st.integers(), max_size=2),
    st.dictionaries(st.text(max_size=4), st.none(), max_size=2),
    st.sampled_from([0, 1, -1, "unknown", "quarter", "burr", "core", "engineered", "softwood", "hardwood"]),
)  # fmt: skip


#: where in a file: at each level the entry of that number, counted round
PLACE = st.lists(st.integers(0, 400), min_size=1, max_size=8)
GONE = "(taken out)"


def spoil(value: Any, place: list[int], odd: Any) -> None:
    """Put something odd at a place, or take out what is there."""
    here = value
    for level, number in enumerate(place, 1):
        keys = list(here) if isinstance(here, dict) else list(range(len(here)))
        if not keys:
            return
        key = keys[number % len(keys)]
        if level == len(place) or not isinstance(here[key], dict | list) or not here[key]:
            break
        here = here[key]
    if odd == GONE:
        del here[key]
    else:
        here[key] = odd


@settings(max_examples=120, deadline=None, suppress_health_check=list(HealthCheck))
@given(
    st.sampled_from(["figures.json", "bundle.json", "report.json"]),
    st.lists(st.tuples(PLACE, ODD | st.just(GONE)), min_size=1, max_size=3),
)
def test_what_a_stranger_writes_into_it_is_checked_or_refused(
    catalogue: Catalogue, shell: bytes, name: str, changes: list[tuple[list[int], Any]]
) -> None:
    def odd(value: Any) -> None:
        for place, what in changes:
            # a copy, for a later change may fall into it
            spoil(value, place, json.loads(json.dumps(what)))

    try:
        found = checked(altered(shell, name, odd), catalogue)
    except WoodrefError as fault:
        assert isinstance(fault, BadBundle), str(fault)
        return
    json.dumps(found.as_dict(), allow_nan=False)
    assert all(line.isprintable() for line in found.sentences())


def test_a_bundle_is_told_from_a_layup_by_its_name_or_its_beginning(tmp_path: Path, shell: bytes) -> None:
    plain, named, hidden = tmp_path / "a.yaml", tmp_path / "b.ZIP", tmp_path / "c"
    plain.write_bytes(SHELL)
    named.write_bytes(b"no zip")
    hidden.write_bytes(shell)
    assert body_of(plain) == (SHELL, False)
    assert body_of(named) == (b"no zip", True)
    assert body_of(hidden) == (shell, True)
    with pytest.raises(BadBundle, match="cannot be read"):
        body_of(tmp_path / "nothing.zip")
