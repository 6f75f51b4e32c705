"""Moisture of the pack when its glue sets, and where the part will live. Everything that moves starts
there."""

from __future__ import annotations

from dataclasses import dataclass

from woodref.layup.asked import HEATED_SET, PLY_MOISTURE
from woodref.layup.findings import Finding
from woodref.layup.pack import Pack, Sheet, solids_of, unweighed
from woodref.layup.saying import Say, pct, plies_called
from woodref.science import gluing, moisture
from woodref.selection.room import HOLDS_LESS
from woodref.units import Range

#: points above the middle of service from which a wet set is a finding
TOO_WET = 4.0
#: points that glue water may add before a thin pack swells and cockles (shop rule, no source)
MUCH_WATER = 8.0
#: leaves laid for urea resin are at 5 to 10 % (read in a trade text; taken for all glues with water in them)
WET_PLY = 10.0


@dataclass(frozen=True)
class Moist:
    """at_set: moisture of each ply [%] when the glue sets, file order; mean: of the whole pack by dry mass;
    before: the mean as laid; points: what the glue adds, None where no weight or glue is known; dry, damp:
    service. stated: the file says at_set."""

    at_set: tuple[float, ...]
    mean: float
    before: float
    points: float | None
    dry: float
    damp: float
    band: Range | None
    stated: bool
    sentences: tuple[str, ...]
    findings: tuple[Finding, ...]

    @property
    def middle(self) -> float:
        """Middle of service [%]."""
        return (self.dry + self.damp) / 2


def moist(pack: Pack, say: Say) -> Moist:
    """Moisture at set and in service. A cold press: own moisture plus the water of the glue, spread over the
    pack; a heated mould: as stated, else the middle of 5 to 8 % (common practice)."""
    layup = pack.layup
    room, press = layup.room, layup.press
    dry = moisture.equilibrium(room.rh_low / 100, room.temperature)
    damp = moisture.equilibrium(room.rh_high / 100, room.temperature)
    points = _points(pack)
    masses = [s.dry_mass or s.thickness for s in pack.sheets]
    before = sum(m * s.moisture for m, s in zip(masses, pack.sheets, strict=True)) / sum(masses)
    band = None
    if press.heated is not None:
        set_at = press.at_set if press.at_set is not None else sum(HEATED_SET) / 2
        band = Range(*HEATED_SET, "%") if press.at_set is None else None
        each = (set_at,) * len(pack.sheets)
        mean = set_at
    else:
        each = tuple(s.moisture + (points or 0.0) for s in pack.sheets)
        mean = before + (points or 0.0)
    said = _sentences(pack, before, mean, points, dry, damp, band, say)
    found = _findings(pack, mean, points, (dry + damp) / 2)
    return Moist(each, mean, before, points, dry, damp, band, press.at_set is not None, said, found)


def _points(pack: Pack) -> float | None:
    if not pack.glues or not pack.weighs:
        return 0.0 if len(pack.sheets) == 1 else None
    plies = [((s.dry_mass or 0.0) / 1000, 1.0, 0.0) for s in pack.sheets]
    lines = [
        (spread, solids_of(glue) if glue["water"] == "brings-in" else 1.0) for glue, spread in pack.glues
    ]
    return gluing.water_points(plies, lines)


def _sentences(
    pack: Pack,
    before: float,
    mean: float,
    points: float | None,
    dry: float,
    damp: float,
    band: Range | None,
    say: Say,
) -> tuple[str, ...]:
    layup = pack.layup
    room = layup.room
    live = (
        f"will live at {dry:.0f} to {damp:.0f} % (air of {room.rh_low:g} to {room.rh_high:g} % humidity "
        f"at {say.warmth(room.temperature)})"
    )
    if layup.press.heated is not None:
        told = "as the file states" if band is None else "usual for a heated mould is 5 to 8 %, a shop rule"
        first = f"The part sets at about {mean:g} % moisture ({told}) and {live}."
    elif points is None:
        why = "no glue is named" if not pack.glues else f"the weight of {unweighed(pack)} is not known"
        first = (
            f"The part sets at {before:.0f} % moisture and more, and {live}: what water the glue adds is "
            f"left out, since {why}."
        )
    else:
        adds = f"{points:.0f} points" if points >= 0.5 else "none to speak of"
        first = (
            f"The part sets at about {mean:.0f} % moisture (laid at {before:.0f} %, the glue adds "
            f"{adds}) and "
            f"{live}."
        )
    out = [first]
    if layup.press.heated is not None and points:
        out.append(
            f"Before the heat drives it off the glue wets the pack by {points:.0f} points, to about "
            f"{before + points:.0f} %."
        )
    lower = [s.number for s in pack.sheets if _holds_less(s)]
    if lower:
        out.append(
            f"That is said of plain wood: {plies_called(lower).lower()} (board, heated wood or resin-treated "
            "wood) holds less, and how much is not known here."
        )
    unsaid = [s.number for s in pack.sheets if s.ask.moisture is None]
    if unsaid:
        which = "all plies" if len(unsaid) == len(pack.sheets) else plies_called(unsaid).lower()
        out.append(f"{pct(PLY_MOISTURE)} is taken for {which}, since the file gives no moisture: measure it.")
    return tuple(out)


def _holds_less(sheet: Sheet) -> bool:
    """Whether its moisture in air lies below that of plain wood."""
    made = sheet.material.made_from if sheet.material else None
    return sheet.is_board or bool(made and made["process"] in HOLDS_LESS)


def _wet_plies(pack: Pack) -> list[Finding]:
    """Leaves laid wetter than glues with water in them take."""
    wet = [s for s in pack.sheets if s.moisture > WET_PLY]
    if not wet or not any(glue["water"] == "brings-in" for glue, _ in pack.glues):
        return []
    return [
        Finding(
            "wet-plies",
            "mend",
            f"{plies_called([s.number for s in wet])}: laid at up to {max(s.moisture for s in wet):g} "
            "%: glue with water in it wants "
            f"leaves at 5 to {WET_PLY:g} %.",
            "Dry the leaves flat between warm boards, a day or two, and measure again.",
            wet[0].number,
        )
    ]


def _findings(pack: Pack, mean: float, points: float | None, middle: float) -> tuple[Finding, ...]:
    out = _wet_plies(pack)
    if mean > middle + TOO_WET:
        out.append(
            Finding(
                "wet-set",
                "mend",
                f"It sets {mean - middle:.0f} points wetter than the middle of its service "
                f"({middle:.0f} %): it "
                "shrinks after pressing, pulls at its lines and loses its shape.",
                "Lay up drier plies (5 to 6 %), spread leaner, take a glue that brings less water, "
                "or press in a "
                "heated mould; keep the part on its former until it is dry, and trim only then.",
            )
        )
    if points is not None and points > MUCH_WATER:
        out.append(
            Finding(
                "glue-water",
                "mend",
                f"The glue wets the pack by {points:.0f} points: thin sheets swell across the grain "
                "while they "
                "are pressed, and cockle or overlap at the joints.",
                "Fewer and thicker plies, a leaner spread, or a glue with less water.",
            )
        )
    return tuple(out)
