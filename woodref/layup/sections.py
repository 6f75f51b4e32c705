"""The sections of a layup file beside its plies and glue, each with the defaults of `asked`."""

from __future__ import annotations

from woodref.layup import asked
from woodref.layup.asked import (
    Face,
    Finish,
    Journey,
    LeafStock,
    Limits,
    Mould,
    Panel,
    Plate,
    Press,
    Room,
    Target,
    Waste,
)
from woodref.layup.reading import Block

#: thinnest and thickest sheet [mm]
THICKNESS = (0.1, 50.0)


def press_of(block: Block) -> Press:
    press = block.part("press", ("cold", "heated", "heated_from", "at_set", "pressure", "bag", "altitude"))
    cold, heated = press.warmth("cold", -20, 60), press.warmth("heated", 30, 200)
    if press.has("cold") and press.has("heated"):
        press.wrong("heated", "the press is both cold and heated", expected="one of the two")
    if not press.has("heated") and (press.has("heated_from") or press.has("at_set")):
        press.wrong(
            "heated_from" if press.has("heated_from") else "at_set",
            "this is for a heated mould alone",
            expected="heated: 70 C beside it, or leave it out",
        )
    bag, pressure = bool(press.yes("bag")), press.amount("pressure", "MPa", 0.001, 5)
    if bag and pressure is not None:
        press.wrong("pressure", "a bag presses as the air does", expected="bag: yes, or a pressure")
    return Press(
        cold=None if heated is not None else (20.0 if cold is None else cold),
        heated=heated,
        from_both=(press.word("heated_from", ("one", "both")) or "both") == "both",
        at_set=press.amount("at_set", "%", 0, 30),
        pressure=pressure,
        bag=bag,
        altitude=press.amount("altitude", "m", -400, 6000) or 0.0,
    )


def mould_of(block: Block) -> Mould:
    mould = block.part(
        "mould",
        ("radius", "face", "show_side", "angle", "bend", "flat", "closed", "second_radius"),
    )
    radius = mould.amount("radius", "mm", 5, 100_000)
    flat, closed = bool(mould.yes("flat")), bool(mould.yes("closed"))
    if flat and mould.has("radius"):
        mould.wrong("flat", "the mould is both flat and round", expected="a radius, or flat: true")
    if closed and flat:
        mould.wrong("closed", "the mould is both flat and closed", expected="a radius for a ring")
    if not flat and radius is None and block.has("mould") and not mould.has("radius"):
        mould.wrong("radius", "the mould has no radius", expected="radius: 300 mm, or flat: true")
    if closed and (mould.has("angle") or mould.has("second_radius")):
        mould.wrong("closed", "a closed ring has no angle and no second radius", expected="one of them")
    return Mould(
        radius=None if flat else radius,
        convex=(mould.word("face", ("convex", "concave")) or "convex") == "convex",
        show_against=(mould.word("show_side", ("against-mould", "away")) or "away") == "against-mould",
        angle=mould.degrees("angle", 1, 350),
        bend=mould.degrees("bend", -90, 90) or 0.0,
        closed=closed,
        second_radius=mould.amount("second_radius", "mm", 5, 100_000),
        radius_where=mould.where("radius"),
    )


def panel_of(block: Block) -> Panel:
    panel = block.part("panel", ("length", "width", "count", "trim"))
    trim = panel.amount("trim", "mm", 0, 200)
    return Panel(
        panel.amount("length", "mm", 10, 20_000),
        panel.amount("width", "mm", 10, 20_000),
        panel.whole("count", 1, 100_000) or 1,
        asked.TRIM if trim is None else trim,
    )


def face_of(block: Block) -> Face:
    face = block.part("face", ("match", "centre", "same_flitch", "parts_to_match"))
    return Face(
        face.word("match", asked.MATCHES) or "slip",
        (face.word("centre", ("joint", "leaf")) or "joint") == "joint",
        bool(face.yes("same_flitch")),
        face.whole("parts_to_match", 1, 1000) or 1,
    )


def leaves_of(block: Block, plies: int) -> tuple[LeafStock, ...]:
    out = []
    for index, entry in enumerate(block.listed("leaves")):
        leaf = Block(entry, ("leaves", index), block.faults, ("ply", "width", "length", "count"))
        ply = leaf.whole("ply", 1, max(plies, 1))
        width, length = leaf.amount("width", "mm", 10, 5000), leaf.amount("length", "mm", 10, 20_000)
        for key in ("ply", "width", "length"):
            if isinstance(entry, dict) and not leaf.has(key):
                leaf.wrong(key, f"{key} of the leaves is missing", expected="ply, width and length")
        if ply and width and length:
            out.append(LeafStock(ply, width, length, leaf.whole("count", 1, 100_000), leaf.where("ply")))
    return tuple(out)


def room_of(block: Block) -> Room:
    room = block.part("room", ("temperature", "rh_low", "rh_high"))
    warm = room.warmth("temperature", -5, 50)
    low, high = room.amount("rh_low", "%", 0, 95), room.amount("rh_high", "%", 0, 95)
    out = Room(
        Room.temperature if warm is None else warm,
        Room.rh_low if low is None else low,
        Room.rh_high if high is None else high,
    )
    read = all(end is not None or not room.has(key) for key, end in (("rh_low", low), ("rh_high", high)))
    if read and out.rh_low > out.rh_high:
        room.wrong("rh_low", f"rh_low {out.rh_low:g} % is above rh_high {out.rh_high:g} %", "dry air first")
    return out


def sanding_of(block: Block) -> tuple[float, float]:
    sanding = block.part("sanding", ("face", "back"))
    return sanding.amount("face", "mm", 0, 50) or 0.0, sanding.amount("back", "mm", 0, 50) or 0.0


def finish_of(block: Block) -> Finish:
    finish = block.part("finish", ("face", "back"))
    face, back = finish.text("face"), finish.text("back")
    return Finish(face, face if back in (None, "same") else back)


def target_of(block: Block) -> Target:
    target = block.part("target", ("areal_mass_max", "load", "span", "sag_max"))
    return Target(
        target.amount("areal_mass_max", "kg/m2", 0.01, 500),
        target.amount("load", "N", 0.1, 1_000_000),
        target.amount("span", "mm", 10, 20_000),
        target.amount("sag_max", "mm", 0.01, 1000),
    )


def plate_of(block: Block) -> Plate | None:
    plate = block.part("plate", ("material", "cut", "thickness"))
    if not block.has("plate"):
        return None
    name, thick = plate.text("material"), plate.amount("thickness", "mm", *THICKNESS)
    for key in ("material", "thickness"):
        if not plate.has(key):
            plate.wrong(key, f"{key} of the solid plate is missing", expected="material and thickness")
    cut = plate.word("cut", asked.CUTS) or "quarter"
    return Plate(name or "", cut, thick or 1.0, plate.where("material"))


def journey_of(block: Block) -> Journey | None:
    journey = block.part("journey", ("from", "to", "form", "state", "origin"))
    if not block.has("journey"):
        return None
    start, to, form = (journey.text(key) for key in ("from", "to", "form"))
    for key in ("from", "to", "form"):
        if not journey.has(key):
            journey.wrong(key, f"{key} of the journey is missing", expected="from, to and form")
    state = journey.word("state", ("blank", "trimmed", "finished"))
    return Journey(start or "", to or "", form or "", state, journey.text("origin"))


def limits_of(block: Block) -> Limits:
    limits = block.part("limits", ("along", "across"))
    along, across = (limits.bare(key, 1, 1000, "limit", "thicknesses") for key in ("along", "across"))
    return Limits(along, Limits.across if across is None else across)


def waste_of(block: Block) -> Waste:
    waste = block.part("waste", ("plain", "matched", "burr"))
    return Waste(*(waste.amount(key, "%", 0, 1000) for key in ("plain", "matched", "burr")))
