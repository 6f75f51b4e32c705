"""What is not known is left out with its reason; what outer sides, iron and oil ask; whether it may go."""

from __future__ import annotations

import datetime as dt
import json

import pytest

from woodref.catalogue.reader import Catalogue
from woodref.errors import BadLayup
from woodref.layup.findings import Finding
from woodref.layup.reader import load_layup
from woodref.layup.report import Report, report

ON = dt.date(2026, 6, 1)


def ply(
    wood: str = "Betula pendula", cut: str = "rotary", mm: float = 1.5, grain: float = 0, more: str = ""
) -> str:
    return f"{{material: {wood}, cut: {cut}, thickness: {mm} mm, grain: {grain}, moisture: 7 %{more}}}"


FACE = ply("Juglans regia", "crown", 0.6)
PALE = ply("Acer pseudoplatanus", "crown", 0.6)
CROSS, LONG = ply(grain=90), ply()
UREA = "glue: {adhesive: urea-formaldehyde, spread: 110 g/m2}\n"
EPOXY = "glue: {adhesive: epoxy, spread: 180 g/m2}\n"
SIZE = "panel: {length: 400 mm, width: 300 mm}\n"
BENT = "mould: {radius: 900 mm}\n"
SEAT = "journey: {from: GB, to: US, form: seat}\n"
ATTIC = "{unidentified: attic leaf, thickness: 0.6 mm, grain: 0, moisture: 7 %}"


def of(catalogue: Catalogue, plies: list[str], rest: str = "", guess: bool = False) -> Report:
    body = "plies:\n" + "".join(f"  - {one}\n" for one in plies) + rest
    return report(load_layup(body.encode(), "x.yaml"), catalogue, ON, guess=guess)


def told(found: Report, code: str) -> list[Finding]:
    return [f for f in found.findings if f.code == code]


def section(found: Report, heading: str) -> str:
    return " ".join(dict(found.page())[heading])


def everything(found: Report) -> str:
    return " ".join(s for _, lines in found.page() for s in lines)


# --- figures that are not known


def test_a_wood_without_stiffness(catalogue: Catalogue) -> None:
    # domestic apple: weight and movement are held, stiffness is not
    found = of(catalogue, [ply("Malus domestica", "crown", 0.6), CROSS, LONG], UREA + SIZE + BENT)
    numbers = found.as_dict()
    for key in ("A", "B", "D", "moduli", "cup_mm", "springback_pct"):
        assert numbers[key] is None, key
    assert numbers["movement_pct"] == {"along": None, "across": None}
    assert numbers["areal_mass_g_m2"] is not None and numbers["glue"]["total_g"] is not None
    name = found.pack.sheets[0].name
    stay = section(found, "Will it keep its bend?")
    assert f"How the bend moves is left out: not known of ply 1 ({name}): stiffness." in stay
    assert f"What springs back is left out: not known of ply 1 ({name}): stiffness." in stay
    (finding,) = told(found, "missing-figure")
    assert finding.ply == 1 and finding.message == f"Ply 1, {name}: not known: stiffness."
    assert finding.where == "x.yaml:2" and "--estimates" in str(finding.mend)


def test_a_wood_without_movement(catalogue: Catalogue) -> None:
    found = of(catalogue, [CROSS, ply("Millettia laurentii", "crown", 1), CROSS], EPOXY + SIZE)
    numbers = found.as_dict()
    assert numbers["D"] is not None and numbers["areal_mass_g_m2"] is not None
    assert numbers["movement_pct"]["along"] is None and numbers["bow_mm"] is None
    name = found.pack.sheets[1].name
    assert f"What the air does to it is left out: not known of ply 2 ({name}): movement." in section(
        found, "Will it stay flat?"
    )
    assert [f.message for f in told(found, "missing-figure")] == [f"Ply 2, {name}: not known: movement."]


def test_estimates_fill_what_is_missing_and_mark_it(catalogue: Catalogue) -> None:
    plies = [CROSS, ply("Malus domestica", "crown", 1), CROSS]
    bare, filled = of(catalogue, plies), of(catalogue, plies, guess=True)
    assert bare.finished.stack is None and filled.finished.stack is not None
    assert not told(filled, "missing-figure") and filled.as_dict()["query"]["estimates"] is True
    (moe,) = [u for u in filled.pack.sheets[1].used if u.name == "moe"]
    assert moe.grade == "worked out" and 5 < moe.value < 20
    assert any(s.startswith(filled.pack.sheets[1].name) and "worked out: " in s for s in filled.engineers())
    # what is held is not worked out anew
    assert [u for u in filled.pack.sheets[0].used if u.name == "moe"] == [
        u for u in bare.pack.sheets[0].used if u.name == "moe"
    ]


def test_an_unidentified_leaf_has_no_figures_and_no_law(catalogue: Catalogue) -> None:
    for guess in (False, True):
        found = of(catalogue, [ATTIC, CROSS, FACE], UREA + SIZE + SEAT, guess)
        json.dumps(found.as_dict(), allow_nan=False)
        (finding,) = told(found, "missing-figure")
        assert finding.message == "Ply 1, unidentified: attic leaf: nothing is known of it."
        assert found.finished.stack is None and found.as_dict()["areal_mass_g_m2"] is None
        assert "not known of ply 1 (unidentified: attic leaf)" in section(found, "Will it stay flat?")
        # what needs no wood is told all the same
        assert found.spreading.total is not None and found.pressing.cure is not None
        assert found.finished.thickness == pytest.approx(2.7)
        assert any("Of an unidentified wood nothing is known about its dust" in c for c in found.cautions)


@pytest.mark.parametrize(
    ("plies", "rest", "heading", "why"),
    [
        ([FACE, CROSS], "", "How much to spread, how long to press?", "the file names no glue"),
        ([FACE, CROSS], UREA, "How much to spread, how long to press?", "the file gives no panel size"),
        ([FACE, CROSS], UREA, "How much to spread, how long to press?", "Pressure is left out"),
        ([FACE, CROSS], "", "How much to cut?", "the file gives no panel size"),
        ([FACE, CROSS], "", "May it go?", "the file gives none (journey: from, to, form)"),
        ([FACE, CROSS], BENT, "Will it keep its bend?", "neither its angle nor the panel's size along it"),
        ([FACE, CROSS], UREA + "mould: {radius: 900 mm, second_radius: 800 mm}\n",
         "Will it keep its bend?", "the file gives no panel size"),
        ([ATTIC, CROSS], UREA, "Will it stay flat?", "not known of ply 1"),
        ([ATTIC, CROSS], UREA, "What does it weigh, how stiff is it?", "ply 1 (unidentified: attic leaf)"),
        ([ATTIC, CROSS], "use: shell\n", "How does it sound?", "left out: not known of ply 1"),
        ([FACE, CROSS], "use: shell\n", "How does it sound?", "the file names none (plate:"),
    ],
)  # fmt: skip
def test_each_missing_section_says_why(
    catalogue: Catalogue, plies: list[str], rest: str, heading: str, why: str
) -> None:
    text = section(of(catalogue, plies, rest), heading)
    assert why in text
    assert "left out" in text or "nothing is said" in text


# --- outer sides


@pytest.mark.parametrize(
    ("mm", "off", "thin"), [(0.6, 0.2, False), (0.6, 0.35, True), (0.25, 0, True), (0.35, 0, False)]
)
def test_a_face_that_is_sanded_through(catalogue: Catalogue, mm: float, off: float, thin: bool) -> None:
    # common practice, no source: below 0.3 mm the next sanding goes through
    leaf = ply("Juglans regia", "crown", mm)
    rest = f"sanding: {{face: {off} mm, back: {off} mm}}\n" if off else ""
    hits = told(of(catalogue, [leaf, CROSS, leaf], rest), "thin-face")
    assert [(f.ply, f.severity) for f in hits] == ([(1, "mend"), (3, "mind")] if thin else [])
    assert not thin or f"The show face is {mm - off:.2f} mm after sanding" in hits[0].message


@pytest.mark.parametrize(
    ("face", "below", "why"),
    [
        (PALE, ply("Juglans nigra", "rotary", 1, 90), "is darker"),
        (PALE, ply("Fraxinus excelsior", "rotary", 1, 90), "has a coarse texture"),
        (PALE, ply("Populus nigra", "rotary", 1, 90), None),
        (PALE.replace("0.6", "0.7"), ply("Juglans nigra", "rotary", 1, 90), None),
        (ply("Juglans nigra", "crown", 0.6), ply("Acer pseudoplatanus", "rotary", 1, 90), None),
    ],
)
def test_what_shows_through_a_thin_pale_face(
    catalogue: Catalogue, face: str, below: str, why: str | None
) -> None:
    # common practice, no source
    hits = told(of(catalogue, [face, below, face]), "show-through")
    assert bool(hits) is (why is not None)
    assert why is None or (why in hits[0].message and hits[0].severity == "mind" and hits[0].ply == 1)


@pytest.mark.parametrize(
    ("finish", "bad"),
    [("{face: oil, back: none}", True), ("{face: oil, back: same}", False), ("{face: oil}", False),
     ("{face: none, back: none}", False), ("{face: lacquer, back: oil}", False)],
)  # fmt: skip
def test_a_finish_on_one_side_alone(catalogue: Catalogue, finish: str, bad: bool) -> None:
    # common practice, no source: a bare side moves sooner
    hits = told(of(catalogue, [FACE, CROSS, FACE], f"finish: {finish}\n"), "one-side-finish")
    assert [f.severity for f in hits] == (["mend"] if bad else [])
    assert not bad or "The face gets oil and the back nothing" in hits[0].message


@pytest.mark.parametrize(
    ("plies", "glue", "stains"),
    [
        ([ply("Quercus robur", "crown", 0.6), CROSS, PALE], UREA, "European oak"),
        ([PALE, CROSS, ply("Quercus robur", "crown", 0.6)], UREA, "European oak"),
        ([PALE, ply("Quercus robur", "crown", 0.6), PALE], UREA, None),
        ([ply("Quercus robur", "crown", 0.6), CROSS, PALE], EPOXY, None),
        ([PALE, CROSS, PALE], UREA, None),
    ],
)
def test_tannin_wet_glue_and_iron(
    catalogue: Catalogue, plies: list[str], glue: str, stains: str | None
) -> None:
    # common practice, no source: tannin and iron make blue-black where it is wet
    hits = told(of(catalogue, plies, glue), "iron-stain")
    assert bool(hits) is (stains is not None)
    assert stains is None or (stains in hits[0].message and "blue-black on iron" in hits[0].message)


def test_oily_woods_once_each(catalogue: Catalogue) -> None:
    teak = ply("Tectona grandis", "crown", 0.6)
    (hit,) = told(of(catalogue, [teak, CROSS, teak], UREA), "oily-wood")
    # the advice is the glue's own (its file)
    assert hit.ply == 1 and " is oily: glue may not take." in hit.message
    assert hit.mend == ("Wipe the faces and glue soon after sanding, try a joint first with oily woods.")
    assert told(of(catalogue, [teak, CROSS]), "oily-wood")[0].mend == "Wipe with spirit just before gluing."
    iroko = ply("Milicia excelsa", "crown", 0.6)
    assert "is somewhat oily" in told(of(catalogue, [iroko, CROSS], UREA), "oily-wood")[0].message
    assert not told(of(catalogue, [iroko, CROSS]), "oily-wood")
    assert not told(of(catalogue, [FACE, CROSS], UREA), "oily-wood")


def test_a_shared_name_is_told_once_a_name(catalogue: Catalogue) -> None:
    poplar = ply("yellow-poplar")
    (hit,) = told(of(catalogue, [FACE, poplar, FACE, poplar, poplar]), "shared-name")
    assert hit.message.startswith("Plies 2, 4 and 5: ") and (hit.ply, hit.where) == (2, "x.yaml:3")
    assert not told(of(catalogue, [FACE, ply("Liriodendron tulipifera"), FACE]), "shared-name")


# --- the law


def test_brazilian_rosewood_does_not_go(catalogue: Catalogue) -> None:
    # published: Dalbergia nigra stands in Appendix I of CITES since 1992
    rose = ply("Dalbergia nigra", "crown", 0.6, more=", origin: BR")
    found = of(catalogue, [rose, CROSS, LONG], UREA + SIZE + SEAT)
    (hit,) = told(found, "restricted")
    assert hit.severity == "stop" and hit.ply == 1 and "woodref substitute" in str(hit.mend)
    assert found.lawful.answer == "stop" and found.as_dict()["trade_answer"] == "stop"
    (row,) = [r for r in found.as_dict()["trade"] if r["plies"] == [1]]
    assert row["answer"] == "stop" and row["listed"] is True and row["kg"] > 0
    others = [r for r in found.as_dict()["trade"] if r["plies"] != [1]]
    assert others and all(r["listed"] is False and r["answer"] != "stop" for r in others)
    assert found.findings[0] is hit  # the worst first


def test_indian_rosewood_is_told_as_blank_and_as_finished(catalogue: Catalogue) -> None:
    # published: annotation #15 of CITES leaves out finished goods to 10 kg of the wood a shipment; an
    # untrimmed blank is plywood in law and no finished good
    rose = ply("Dalbergia latifolia", "crown", 0.6, more=", origin: IN")
    found = of(catalogue, [rose, CROSS, LONG], UREA + SIZE + SEAT)
    assert found.lawful.whole is not None
    states = {state: v.answer for state, v in found.lawful.whole.verdicts}
    assert states == {"blank": "papers", "finished": "no-listing-paper"}
    text = section(found, "May it go?")
    assert "As blank, from GB to US: " in text and "As finished, from GB to US: " in text
    assert "An untrimmed pressed blank is plywood in law, a finished part is not." in text
    (hit,) = told(found, "restricted")
    assert hit.severity == "mind" and hit.mend == "Ship it finished, never as an untrimmed blank."
    blank = of(catalogue, [rose, CROSS, LONG], UREA + SIZE + SEAT.replace("seat}", "seat, state: blank}"))
    assert [f.severity for f in told(blank, "restricted")] == ["mend"] and blank.lawful.answer == "papers"
    done = of(catalogue, [rose, CROSS, LONG], UREA + SIZE + SEAT.replace("seat}", "seat, state: finished}"))
    assert not told(done, "restricted") and done.lawful.answer == "no-listing-paper"


def test_without_a_journey_a_listed_wood_is_named(catalogue: Catalogue) -> None:
    rose = ply("Dalbergia latifolia", "crown", 0.6, more=", origin: IN")
    found = of(catalogue, [rose, CROSS, LONG])
    (hit,) = told(found, "restricted")
    assert hit.severity == "mend" and "is listed" in hit.message
    assert f"Listed today: {found.pack.sheets[0].name}." in section(found, "May it go?")
    assert found.lawful.answer is None
    plain = section(of(catalogue, [FACE, CROSS]), "May it go?")
    assert "No identified wood of it is on the lists held here." in plain


def test_the_law_of_an_unidentified_leaf_cannot_be_told(catalogue: Catalogue) -> None:
    found = of(catalogue, [FACE, CROSS, ATTIC], UREA + SIZE + SEAT)
    assert found.lawful.answer == "check" and found.as_dict()["trade_answer"] == "check"
    (hit,) = told(found, "restricted")
    assert hit.ply == 3 and hit.severity == "mend" and "the law cannot be told" in hit.message
    assert "Ply 3: not identified, so for the whole part the law cannot be told." in section(
        found, "May it go?"
    )
    (row,) = [r for r in found.as_dict()["trade"] if r["plies"] == [3]]
    assert row["cannot_say"] == "it is not identified" and row["listed"] is None and row["answer"] is None


def test_an_unidentified_leaf_beside_a_stop_is_still_a_stop(catalogue: Catalogue) -> None:
    rose = ply("Dalbergia nigra", "crown", 0.6, more=", origin: BR")
    found = of(catalogue, [rose, CROSS, ATTIC], UREA + SIZE + SEAT)
    # one wood that is known to be stopped stops the part, whatever the other is
    assert found.lawful.answer == "stop"


def test_a_part_of_unidentified_leaves_alone_may_not_just_go(catalogue: Catalogue) -> None:
    found = of(catalogue, [ATTIC, ATTIC], UREA + SIZE + SEAT)
    assert found.lawful.answer == "check"


def test_a_journey_that_is_given_is_not_said_to_be_missing(catalogue: Catalogue) -> None:
    found = of(catalogue, [ATTIC, ATTIC], UREA + SIZE + SEAT)
    assert dict(found.short())["Law"] != "left out: no journey is given"
    assert dict(of(catalogue, [ATTIC, ATTIC]).short())["Law"] == "left out: no journey is given"
    # nor is anything said to follow of named woods where there is none
    assert "What follows is of the named woods alone" not in section(found, "May it go?")


@pytest.mark.parametrize("journey", ["{from: GB, to: XX, form: seat}", "{from: GB, to: US, form: porridge}"])
def test_a_journey_nobody_knows(catalogue: Catalogue, journey: str) -> None:
    with pytest.raises(BadLayup, match="journey"):
        of(catalogue, [FACE, CROSS], f"journey: {journey}\n")
