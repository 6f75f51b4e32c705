"""What a person asks of a substitution, checked before anything is reckoned."""

from __future__ import annotations

import datetime as dt
import re
from dataclasses import dataclass, field
from typing import Any

from woodref.catalogue.reader import Catalogue
from woodref.errors import BadRequest, echo
from woodref.selection import legs
from woodref.selection.roles import VENEER_ROLES, Profile
from woodref.units import quantity


@dataclass(frozen=True)
class Piece:
    """What the sheet must cover: length along the grain and width across [mm], joints allowed."""

    length: float
    width: float
    joints: int = 0

    @property
    def leaves(self) -> int:
        """Leaves side by side at the most."""
        return self.joints + 1

    @property
    def leaf(self) -> float:
        """The width [mm] each leaf must have."""
        return self.width / self.leaves

    def as_dict(self) -> dict[str, Any]:
        return {"length_mm": self.length, "width_mm": self.width, "joints": self.joints}


def piece_of(text: str | None, joints: int) -> Piece | None:
    """'490x460' or '490 mm x 460 mm', length along the grain first."""
    if text is None:
        if joints:
            raise BadRequest("--joints needs --piece", next="Say how large the piece is: --piece 490x460.")
        return None
    parts = re.split(r"\s*[x×]\s*", text.strip())
    if len(parts) != 2 or not all(parts):
        raise BadRequest(
            f"--piece {echo(text)} is not a size",
            expected="LENGTHxWIDTH in mm, along the grain first: 490x460",
        )
    length, width = (float(quantity(part, "mm").to("mm").value) for part in parts)
    if length <= 0 or width <= 0:
        raise BadRequest(f"--piece {echo(text)} has a side of 0", expected="two lengths above 0")
    return Piece(length, width, joints)


@dataclass(frozen=True)
class FaceAsk:
    """The face a back must balance: its name, thickness [mm] and cut."""

    name: str
    thickness: float
    cut: str = "crown"

    def as_dict(self) -> dict[str, Any]:
        return {"name": self.name, "thickness_mm": self.thickness, "cut": self.cut}


def face_of(text: str | None, cut: str | None, role: str) -> FaceAsk | None:
    """'black walnut@0.6mm' -> the face; BadRequest when it is no such thing or the role is no back."""
    if text is None:
        if cut:
            raise BadRequest("--cut goes with --for-face", next='Say: --for-face "black walnut@0.6mm".')
        return None
    if role != "back":
        raise BadRequest(f"--for-face is for --role back, not {role}", next="Add --role back.")
    name, sign, thick = text.rpartition("@")
    if not sign or not name.strip():
        raise BadRequest(
            f"--for-face {echo(text)} lacks a name or a thickness", expected='"black walnut@0.6mm"'
        )
    size = float(quantity(thick, "mm").to("mm").value)
    if not 0.1 <= size <= 10:
        raise BadRequest(f"a face of {size:g} mm", expected="a leaf of 0.1 to 10 mm")
    return FaceAsk(name.strip(), size, cut or "crown")


@dataclass(frozen=True)
class Request:
    """What is asked. target: the name or words asked for; origin: ISO code the wood must come from; kind:
    only this kind of material; profile: weights, tolerances and limits, None for the role's own; among: a
    list of the user's own whose rows alone are ranked."""

    target: str
    role: str
    on: dt.date
    plantation: bool = False
    kind: str | None = None
    origin: str | None = None
    rows: int = 10
    natural: bool = False
    route: legs.Route = field(default_factory=legs.Route)
    profile: Profile | None = None
    piece: Piece | None = None
    face: FaceAsk | None = None
    state: str = "planed"
    stain_ok: bool = False
    estimates: bool = False
    units: str = "metric"
    in_stock: bool = False
    among: str | None = None

    def as_dict(self) -> dict[str, Any]:
        return {
            "target": self.target,
            "role": self.role,
            "on": self.on.isoformat(),
            "plantation": self.plantation,
            "kind": self.kind,
            "origin": self.origin,
            "rows": self.rows,
            "natural": self.natural,
            **self.route.as_dict(),
            **(self.profile.as_dict() if self.profile else {}),
            "piece": self.piece.as_dict() if self.piece else None,
            "for_face": self.face.as_dict() if self.face else None,
            "colour_state": self.state,
            "stain_ok": self.stain_ok,
            "estimates": self.estimates,
            "in_stock": self.in_stock,
            "among": self.among,
        }


def check(request: Request, catalogue: Catalogue) -> None:
    """Raise BadRequest for an unknown country, a sale without a home, a piece of no sheet."""
    route = request.route
    for option, code in (
        ("--origin", request.origin),
        ("--home", route.home),
        ("--veneer-from", route.veneer_from),
        ("--sell-to", route.sell_to),
    ):
        if code is not None and code not in catalogue.countries:
            raise BadRequest(
                f"{option} {echo(code)} is not a country code",
                expected="an ISO 3166-1 code of two capitals, such as GH for Ghana",
            )
    if route.sell_to and not route.home:
        raise BadRequest("--sell-to needs --home", next="Say with --home CC where the part is made.")
    if request.among and request.in_stock:
        raise BadRequest("--among and --in-stock do not go together", next="Ask for one of the two.")
    if request.piece and request.role not in VENEER_ROLES:
        raise BadRequest(f"--piece is for sheets, not for the role {request.role}", next="Leave --piece out.")
