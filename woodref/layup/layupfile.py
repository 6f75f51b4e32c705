"""The shape of a layup file. Strict: a key that is not named here is a fault, a length without a unit too."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from woodref.catalogue.yamlload import MAX_BYTES, load
from woodref.errors import BadLayup, BadQuantity
from woodref.files import bytes_of
from woodref.layup import asked, sections
from woodref.layup.asked import (
    Layup,
    LineAsk,
    PlyAsk,
)
from woodref.layup.reading import Block, Faults, Step
from woodref.layup.sections import THICKNESS
from woodref.units import day_or_year

KEYS = (
    "title", "plies", "glue", "press", "mould", "panel", "face", "leaves", "room", "sanding", "finish",
    "use", "target", "plate", "journey", "limits", "waste",
)  # fmt: skip
PLY_KEYS = (
    "material", "unidentified", "cut", "thickness", "grain", "moisture", "rings", "figured", "origin",
    "acquired",
)  # fmt: skip
#: plies that a pack may have, once repeats are written out
MOST_PLIES = 60


def read_body(path: Path) -> bytes:
    """The bytes of a layup file, or of standard input for '-'."""
    return bytes_of(path, MAX_BYTES, BadLayup, "Name a layup file.")


def parse(body: bytes, file: str) -> dict[str, Any]:
    """The mapping of a file; BadLayup with the line when it is no YAML that we take."""
    value, found = load(body, file)
    if found:
        raise BadLayup(found[0].says, where=f"{file}:{found[0].line}")
    if not isinstance(value, dict):
        raise BadLayup("this is no layup", where=file, expected=f"keys: {', '.join(KEYS)}")
    return value


def written_out(value: Mapping[str, Any], faults: Faults) -> list[Any]:
    """The plies of a file with every repeat written out; faults.steps then says where each one stands."""
    out: list[Any] = []

    def take(entry: Any, path: tuple[Step, ...]) -> None:
        if len(out) > MOST_PLIES:
            return  # one too many is enough to tell of
        if not isinstance(entry, dict) or "repeat" not in entry:
            out.append(dict(entry) if isinstance(entry, dict) else entry)
            faults.steps.append(path)
            return
        times = entry["repeat"]
        if isinstance(times, bool) or not isinstance(times, int) or not 1 <= times <= MOST_PLIES:
            faults.add(
                (*path, "repeat"), "repeat does not count", f"a whole number, 1 to {MOST_PLIES}",
                as_it_stands=True,
            )  # fmt: skip
            return
        rest = {key: sub for key, sub in entry.items() if key != "repeat"}
        group = rest.pop("plies", None)
        for _ in range(times):
            before = len(out)
            if group is None:
                take(rest, path)
            elif isinstance(group, list) and not rest:
                for index, sub in enumerate(group):
                    take(sub, (*path, "plies", index))
            else:
                faults.add(
                    path, "a repeated list holds repeat and plies alone", "{repeat: 2, plies: [...]}",
                    as_it_stands=True,
                )  # fmt: skip
            if len(out) == before:
                return  # once more would add no ply either

    listed = value.get("plies")
    if listed is not None and not isinstance(listed, list):
        faults.add(("plies",), "plies is no list", expected="lines that begin with a hyphen")
    for index, entry in enumerate(listed if isinstance(listed, list) else []):
        take(entry, ("plies", index))
    return out


def layup_of(value: Mapping[str, Any], faults: Faults) -> Layup:
    """The values of a file whose plies are written out. BadLayup tells every fault with its line."""
    told = bool(faults.found)
    block = Block(dict(value), (), faults, KEYS)
    plies = _plies(block, faults, told)
    glue, lines = _glue(block, len(plies))
    mould = sections.mould_of(block)
    out = Layup(
        title=block.text("title") or Path(faults.file).stem.replace("-", " "),
        plies=plies,
        file=faults.file,
        glue=glue,
        lines=lines,
        press=sections.press_of(block),
        mould=mould,
        panel=sections.panel_of(block),
        face=sections.face_of(block),
        leaves=sections.leaves_of(block, len(plies)),
        room=sections.room_of(block),
        sanding=sections.sanding_of(block),
        finish=sections.finish_of(block),
        use=block.word("use", asked.USES),
        target=sections.target_of(block),
        plate=sections.plate_of(block),
        journey=sections.journey_of(block),
        limits=sections.limits_of(block),
        waste=sections.waste_of(block),
        given=_given(block),
    )
    faults.settle()
    _together(out, block)
    faults.settle()
    return out


def _given(block: Block) -> frozenset[str]:
    """The sections of the file, and `limits.across`, whose default is told apart from a written 20."""
    limits = block.held.get("limits")
    written = isinstance(limits, dict) and limits.get("across") is not None
    return frozenset([*(key for key in KEYS if block.has(key)), *([asked.ACROSS_GIVEN] if written else [])])


def _plies(block: Block, faults: Faults, told: bool) -> tuple[PlyAsk, ...]:
    """told: why there is no ply has been told before."""
    entries = block.listed("plies")
    if not entries:
        if not told and block.held.get("plies") in (None, []):
            faults.add(("plies",), "there is no ply", expected="plies: and a line for each, show face first")
        return ()
    if len(entries) > MOST_PLIES:
        faults.add(("plies",), f"more than {MOST_PLIES} plies", expected=f"at most {MOST_PLIES}")
        return ()
    return tuple(_ply(entry, index, faults) for index, entry in enumerate(entries))


def _ply(entry: Any, index: int, faults: Faults) -> PlyAsk:
    ply = Block(entry, ("plies", index), faults, PLY_KEYS)
    material, words = ply.text("material"), ply.text("unidentified")
    if isinstance(entry, dict) and ply.has("material") == ply.has("unidentified"):
        faults.add(
            ("plies", index),
            "a ply is both named and unidentified" if ply.has("material") else "a ply names no wood",
            expected="material: NAME, or unidentified: WORDS",
        )
    thickness = ply.amount("thickness", "mm", *THICKNESS)
    if isinstance(entry, dict) and not ply.has("thickness"):
        faults.add(("plies", index), "thickness is missing", expected="such as thickness: 0.6 mm")
    grain = ply.degrees("grain", -90, 90)
    if isinstance(entry, dict) and not ply.has("grain"):
        faults.add(
            ("plies", index), "grain is missing", expected="degrees from the length: grain: 0 or grain: 90"
        )
    acquired = ply.text("acquired")
    day = None
    if acquired:
        try:
            day = day_or_year(acquired)
        except BadQuantity as fault:
            ply.wrong("acquired", fault.message, fault.expected)
    return PlyAsk(
        material=material,
        unidentified=words,
        thickness=thickness or 1.0,
        grain=grain or 0.0,
        cut=ply.word("cut", asked.CUTS),
        moisture=ply.amount("moisture", "%", 0, 60),
        rings=ply.degrees("rings", 0, 90),
        figured=bool(ply.yes("figured")),
        origin=ply.text("origin"),
        acquired=day,
        where=ply.where("material") if faults.changed(ply.at("material")) else faults.where(("plies", index)),
    )


def _glue(block: Block, plies: int) -> tuple[LineAsk | None, tuple[LineAsk, ...]]:
    glue = block.part("glue", ("adhesive", "spread", "lines"))
    name, spread = glue.text("adhesive"), glue.amount("spread", "g/m2", 20, 800)
    entries = glue.listed("lines")
    lines = []
    for index, entry in enumerate(entries):
        line = Block(entry, (*glue.at("lines"), index), glue.faults, ("adhesive", "spread"))
        own, much = line.text("adhesive") or name, line.amount("spread", "g/m2", 20, 800)
        if own is None:
            if isinstance(entry, dict) and not line.has("adhesive"):
                line.wrong("adhesive", f"line {index + 1} names no adhesive", expected="adhesive: NAME")
            continue
        lines.append(LineAsk(own, much if much is not None else spread, line.where("adhesive")))
    if entries and plies and len(entries) != plies - 1:
        glue.wrong("lines", f"{len(entries)} glue lines for {plies} plies", expected=f"{plies - 1} lines")
    if block.has("glue") and not entries and not glue.has("adhesive") and not glue.held.get("lines"):
        glue.wrong("adhesive", "glue names no adhesive", expected="adhesive: NAME, such as urea-formaldehyde")
    return (LineAsk(name, spread, glue.where("adhesive")) if name else None), tuple(lines)


def _together(layup: Layup, block: Block) -> None:
    """Faults that only several keys make."""
    mould, thick = layup.mould, layup.thickness
    tight = mould.radius is not None and mould.radius <= thick
    if tight:
        block.faults.add(
            ("mould", "radius"),
            f"a radius of {mould.radius:g} mm is not larger than the pack of {thick:g} mm",
            expected="a mould whose radius is larger than the pack is thick",
        )
    off_face, off_back = layup.sanding
    for key, off, ply in (("face", off_face, layup.plies[0]), ("back", off_back, layup.plies[-1])):
        if off and off >= ply.thickness:
            block.faults.add(
                ("sanding", key),
                f"{off:g} mm of sanding goes through a {key} of {ply.thickness:g} mm",
                expected="less than the ply is thick",
            )
    if mould.closed and layup.panel.length is not None:
        block.faults.add(
            ("panel", "length"), "the length of a ring follows from its radius", expected="width alone"
        )
    if mould.radius is not None and mould.angle is not None and not tight:
        from woodref.layup.geometry import arc_length, curved_size

        arc, size = arc_length(layup), curved_size(layup)
        if arc is not None and size is not None and arc > size * 1.0001:
            block.faults.add(
                ("mould", "angle"),
                f"{mould.angle:g} degrees take {arc:.0f} mm of show face, and the panel has {size:g} mm",
                expected="a longer panel, a smaller radius or a smaller angle",
            )
