"""Where each ply of a bent pack lies: its radius, its own length along the curve, the slip at the ends."""

from __future__ import annotations

import math

from woodref.layup.asked import Layup


def show_radius(layup: Layup) -> float | None:
    """Radius [mm] of the show face on its mould; None for a flat press."""
    mould, thick = layup.mould, layup.thickness
    if mould.radius is None:
        return None
    if mould.show_against:
        return mould.radius
    return mould.radius + thick if mould.convex else mould.radius - thick


def radius_at(layup: Layup, depth: float) -> float | None:
    """Radius [mm] at a depth [mm] below the show face."""
    show = show_radius(layup)
    if show is None:
        return None
    return show - depth if layup.mould.show_outside else show + depth


def middles(layup: Layup) -> list[float]:
    """Depth of the middle of each ply below the show face [mm], in the file's order."""
    out, depth = [], 0.0
    for ply in layup.plies:
        out.append(depth + ply.thickness / 2)
        depth += ply.thickness
    return out


def inner_radius(layup: Layup, number: int) -> float | None:
    """Radius [mm] of the hollow side of ply `number` (1 is the show face)."""
    depth = sum(p.thickness for p in layup.plies[: number - 1])
    ends = (radius_at(layup, depth), radius_at(layup, depth + layup.plies[number - 1].thickness))
    return None if ends[0] is None or ends[1] is None else min(ends[0], ends[1])


def curved_size(layup: Layup) -> float | None:
    """Size of the panel along the curve on the show face [mm]: its length, or its width for a bend across."""
    return layup.panel.width if abs(layup.mould.bend) > 45 else layup.panel.length


def turn(layup: Layup) -> float | None:
    """How far the part turns [radians]; None when flat, or when neither the angle nor the size is known."""
    show = show_radius(layup)
    if show is None:
        return None
    if layup.mould.closed:
        return 2 * math.pi
    if layup.mould.angle is not None:
        return math.radians(layup.mould.angle)
    size = curved_size(layup)
    return None if size is None else size / show


def arc_length(layup: Layup) -> float | None:
    """Length of the bend on the show face [mm]."""
    show, angle = show_radius(layup), turn(layup)
    return None if show is None or angle is None else show * angle


def straight_bend(layup: Layup) -> bool:
    """Whether the curve runs along the length or across it, so that plies keep square ends."""
    return abs(layup.mould.bend) in (0.0, 90.0)


def own_lengths(layup: Layup) -> list[float] | None:
    """Length of each ply's middle along the curve [mm]; for a ring all round. None when not known.

    A flat part gives the panel's own length for each."""
    size, angle = curved_size(layup), turn(layup)
    if layup.mould.radius is None:
        return None if layup.panel.length is None else [layup.panel.length] * len(layup.plies)
    if angle is None or not straight_bend(layup):
        return None
    show = show_radius(layup)
    if layup.mould.closed:
        size = angle * show if show is not None else None
    if size is None:
        return None
    sign = -1 if layup.mould.show_outside else 1
    return [size + sign * angle * depth for depth in middles(layup)]


def end_slip(layup: Layup) -> float | None:
    """How far the outermost ply overlaps the innermost at each end [mm]; 0 for a ring or a flat part."""
    lengths = own_lengths(layup)
    if lengths is None:
        return None
    if layup.mould.closed or layup.mould.radius is None:
        return 0.0
    return (max(lengths) - min(lengths)) / 2


def net_areas(layup: Layup) -> list[float] | None:
    """What each ply covers in one trimmed part [m2], at its own length; None when the size is not known."""
    panel, own = layup.panel, own_lengths(layup)
    if own is None or panel.width is None:
        if panel.length is None or panel.width is None:
            return None
        return [panel.length * panel.width / 1e6] * len(layup.plies)
    if layup.mould.radius is not None and abs(layup.mould.bend) == 90 and panel.length is not None:
        return [panel.length * size / 1e6 for size in own]
    return [size * panel.width / 1e6 for size in own]
