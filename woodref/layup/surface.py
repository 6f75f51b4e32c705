"""The two outer sides: thin faces, what shows through, one-sided finish, iron and oil."""

from __future__ import annotations

from woodref.catalogue.reader import Catalogue
from woodref.layup.findings import Finding
from woodref.layup.pack import Pack, Sheet
from woodref.layup.saying import Say, plies_called
from woodref.layup.solid import FINISHED, thicknesses
from woodref.selection.words import DUST_ORDER, DUST_WORDS, dust_line, joined

#: thinner than this a face is sanded through in use or mended never [mm] (common practice, no source)
THIN = 0.3
#: a face up to this lets a dark or coarse sheet below show [mm] (shop rule, no source)
SHOWS = 0.6
#: lightness (L* of the classes' drawn colours) by which the sheet below is darker before it greys a face
#: (our rule)
DARKER = 25.0


def surface(pack: Pack, catalogue: Catalogue, say: Say) -> list[Finding]:
    """Findings about faces, finish and what is in the wood."""
    out = [*_thin(pack, say), *_show_through(pack, catalogue, say)]
    if pack.layup.finish.one_sided:
        out.append(
            Finding(
                "one-side-finish",
                "mend",
                f"The face gets {pack.layup.finish.face} and the back nothing: the bare side takes up "
                "and gives off "
                "moisture sooner, and the part warps with every change of the air.",
                "Finish the back alike.",
            )
        )
    out += _iron(pack)
    out += _oily(pack)
    return [*out, *_shared(pack)]


def _shared(pack: Pack) -> list[Finding]:
    """A name that several woods share: once, at its first ply."""
    plies: dict[str, list[int]] = {}
    for number, message in pack.shared:
        plies.setdefault(message, []).append(number)
    return [
        Finding(
            "shared-name",
            "mind",
            f"{plies_called(numbers)}: {message}",
            "Write the botanical name or the id in the file.",
            numbers[0],
            pack.sheets[numbers[0] - 1].ask.where or None,
        )
        for message, numbers in plies.items()
    ]


def _sides(pack: Pack) -> list[tuple[Sheet, float, str]]:
    thick = thicknesses(pack.layup, FINISHED)
    sides = [(pack.sheets[0], thick[0], "show face")]
    if len(pack.sheets) > 1:
        sides.append((pack.sheets[-1], thick[-1], "back"))
    return sides


def _thin(pack: Pack, say: Say) -> list[Finding]:
    return [
        Finding(
            "thin-face",
            "mend" if side == "show face" else "mind",
            f"The {side} is {say.mm(thick)} after sanding: the next sanding goes through it.",
            "Sand less, or lay a thicker leaf.",
            sheet.number,
        )
        for sheet, thick, side in _sides(pack)
        if thick < THIN
    ]


def _show_through(pack: Pack, catalogue: Catalogue, say: Say) -> list[Finding]:
    if len(pack.sheets) < 2:
        return []
    face, below = pack.sheets[0], pack.sheets[1]
    thick = thicknesses(pack.layup, FINISHED)[0]
    if face.material is None or below.material is None or thick > SHOWS:
        return []
    light = {name: c.lab[0] for name, c in catalogue.colour_classes.items()}
    mine, theirs = (light.get(s.material.look["class"], 50.0) for s in (face, below) if s.material)
    coarse = below.material.look["texture"] == "coarse" and face.material.look["texture"] == "fine"
    if mine - theirs < DARKER and not coarse:
        return []
    why = "is darker" if mine - theirs >= DARKER else "has a coarse texture"
    return [
        Finding(
            "show-through",
            "mind",
            f"The sheet below the face, {below.name}, {why} and may show through {say.mm(thick)} of "
            f"{face.name}.",
            "A paler, finer crossband or a thicker face.",
            1,
        )
    ]


def _iron(pack: Pack) -> list[Finding]:
    names = [
        s.name
        for s, _, _ in _sides(pack)
        if s.material is not None and s.material.working["tannin"] in ("high", "medium")
    ]
    wet = any(glue["water"] == "brings-in" for glue, _ in pack.glues)
    if not names or not wet:
        return []
    return [
        Finding(
            "iron-stain",
            "mind",
            f"{joined(list(dict.fromkeys(names)))}: tannin and wet glue turn blue-black on iron.",
            "Paper or film between wood and clamps, no steel wool, brass or stainless tools while it is wet.",
            1,
        )
    ]


def _oily(pack: Pack) -> list[Finding]:
    out: dict[str, Finding] = {}
    for sheet in pack.sheets:
        if sheet.material is None or sheet.material.working["oily"] not in ("yes", "somewhat"):
            continue
        if sheet.material.working["oily"] == "somewhat" and not pack.glues:
            continue
        advice = pack.glues[0][0]["oily_woods"] if pack.glues else "Wipe with spirit just before gluing"
        out.setdefault(
            sheet.name,
            Finding(
                "oily-wood",
                "mind",
                f"Ply {sheet.number}, {sheet.name}, is "
                f"{'oily' if sheet.material.working['oily'] == 'yes' else 'somewhat oily'}: "
                "glue may not take.",
                f"{advice}.",
                sheet.number,
            ),
        )
    return list(out.values())


def cautions(pack: Pack) -> list[str]:
    """What can hurt: dust by wood, glue, formaldehyde, weight on a seat."""
    out: list[str] = []
    dusts: dict[str, list[str]] = {}
    worst: Sheet | None = None
    for sheet in pack.sheets:
        if sheet.material is None:
            continue
        risk = sheet.material.working["dust"]["risk"]
        names = dusts.setdefault(risk, [])
        if sheet.name not in names:
            names.append(sheet.name)
        if worst is None or sheet.material.hardness_group == "hardwood":
            worst = sheet
    for risk in sorted(dusts, key=lambda r: -DUST_ORDER[r]):
        out.append(f"{joined(dusts[risk])}: {DUST_WORDS[risk]}.")
    if worst is not None and worst.material is not None:
        out.append(dust_line(worst.material))
    if any(s.material is None for s in pack.sheets):
        out.append("Of an unidentified wood nothing is known about its dust: treat it as harmful.")
    glues = {glue["id"]: glue for glue, _ in pack.glues}
    for glue in glues.values():
        # a time in cold clamps has no place beside a heated mould
        told = [
            c for c in glue["cautions"] if pack.layup.press.heated is None or "cold in the clamps" not in c
        ]
        out += [f"{c}." for c in told]
        if glue["formaldehyde"] in ("yes", "traces"):
            out.append(
                "Formaldehyde: goods sold may have to keep an emission limit, which is proved by a "
                "test of the "
                "finished panel or the glue maker's paper, never by this report; the law of the "
                "place decides."
            )
    if pack.layup.use == "seat" or pack.layup.target.load is not None:
        out.append(
            "A part that carries people is proved by loading it, under the rules of the place: "
            "nothing here is proof "
            "of strength."
        )
    return list(dict.fromkeys(out))
