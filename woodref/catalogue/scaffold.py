"""`data new`: a valid skeleton of a material file, in key order, saying nothing it does not know."""

from __future__ import annotations

import json
import re
from pathlib import Path

from woodref.catalogue.schema import FOLDERS, SLUG
from woodref.errors import BadRequest, echo

FOLDER_OF = {kind: folder for folder, kind in FOLDERS.items()}

_HEAD = """\
id: {id}
was: []
kind: {kind}
hardness_group: {group}
"""
_SPECIES = """\
botanical: {{name: {botanical}, family: {family}, synonyms: []}}
"""
_MADE = """\
botanical: null
"""
_NAMES = """\
names:
  - {{text: {name}, lang: en}}
"""
_MADE_FROM = """\
made_from:
  base: {base}
  woods: [{base}]
  process: dyed-through
  words: say here how the sheet is made
  dye_uptake: 0.02
  stiffness_factor: 1.0
  look_of: []
  evidence: common-practice
"""
_REST = """\
grows:
  countries: []            # ISO codes of harvest, sorted. Without one it is no candidate
  evidence: recalled
  source: powo
  locator: null
  plantation: {grown: unknown, countries: [], sold_as_veneer: not-known}
figures: {}
#  density:
#    - {value: 458, unit: kg/m3, printed: specific gravity 0.41, condition: {mc: 12},
#       source: fpl-gtr-190, locator: Table 5-3a, evidence: quoted}
look:
  words: say here what the eye sees on planed heartwood
  class: mid-brown
  also: []
  swatches: []
  light: {change: unknown}
  pores: unknown
  texture: unknown
  grain: unknown
  figures: []
  sapwood: null            # its colour
  evidence: common-practice
veneer:
  sold: not-known
  cuts: []
  thickness_mm: []
  leaf_width_mm: {}
  treatments: null         # [] when it is sold untreated only
  sapwood: {with_heart: unknown, beetles: unknown}
working:
  bending: {class: unknown}
  gluing: {class: unknown}
  bleed_through: {risk: unknown}
  dust: {risk: no-record}
  extract: {reaction: unknown}
  tannin: unknown
  oily: unknown
  splinters: unknown
red_list: {category: unknown}
cautions: []
"""


def _text(value: str) -> str:
    """A person's words as YAML text: plain where that is safe, else in double quotes."""
    if re.fullmatch(r"[A-Za-z][A-Za-z -]*[A-Za-z]", value) and value not in ("true", "false", "null"):
        return value
    return json.dumps(value, ensure_ascii=False)


def skeleton(
    material_id: str,
    kind: str,
    name: str | None = None,
    botanical: str | None = None,
    family: str | None = None,
    base: str | None = None,
    softwood: bool = False,
) -> str:
    """The text of a new material file that passes `data check` as it stands.

    Raises BadRequest when a species has no botanical name or another kind no base wood.
    """
    for given in (material_id, base):
        if given is not None and not re.fullmatch(SLUG, given):
            raise BadRequest(
                f"{echo(given)} is not an id",
                expected="small letters and hyphens: the binomial for a species, such as alnus-rubra",
            )
    if kind == "species" and not botanical:
        words = material_id.split("-")
        botanical = f"{words[0].capitalize()} {' '.join(words[1:])}" if len(words) > 1 else None
    if kind == "species" and not botanical:
        raise BadRequest("a species needs its botanical name", next="Give --botanical 'Genus species'.")
    if kind != "species" and not base:
        raise BadRequest(f"a material of kind {kind} needs its base wood", next="Give --base ID.")
    group = "softwood" if softwood else "hardwood"
    out = _HEAD.format(id=material_id, kind=kind, group=group)
    if kind == "species":
        out += _SPECIES.format(botanical=_text(botanical or ""), family=_text(family or "not stated"))
    else:
        out += _MADE
    out += _NAMES.format(name=_text(name or material_id.replace("-", " ")))
    if kind != "species":
        out += _MADE_FROM.format(base=_text(base or ""))
    return out + _REST


def write_new(root: Path, material_id: str, kind: str, text: str) -> Path:
    """Write the file; BadRequest when one stands there already."""
    path = root / FOLDER_OF[kind] / f"{material_id}.yaml"
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with path.open("x", encoding="utf-8") as out:
            out.write(text)
    except OSError as fault:
        if isinstance(fault, FileExistsError) and path.is_file():
            raise BadRequest(f"{path} exists already", next="Edit that file instead.") from None
        raise BadRequest(
            f"{path} cannot be written ({fault.strerror})",
            next="Run this in a checkout, or set WOODREF_DATA to a folder of your own.",
        ) from None
    return path
