"""Colour: sRGB to CIELAB (D65, 2 degrees) and the CIEDE2000 difference.

Sources: IEC 61966-2-1 (sRGB), CIE 15 (CIELAB), Sharma, Wu and Dalal 2005 (CIEDE2000, with the
published test pairs that tests/outside checks). White 0.95047, 1, 1.08883.
"""

from __future__ import annotations

import math
import re

from woodref.errors import BadQuantity, echo

Lab = tuple[float, float, float]

_WHITE = (0.95047, 1.0, 1.08883)
_TO_XYZ = (
    (0.4124564, 0.3575761, 0.1804375),
    (0.2126729, 0.7151522, 0.0721750),
    (0.0193339, 0.1191920, 0.9503041),
)
_TO_RGB = (
    (3.2404542, -1.5371385, -0.4985314),
    (-0.9692660, 1.8760108, 0.0415560),
    (0.0556434, -0.2040259, 1.0572252),
)
_EPS = (6 / 29) ** 3


def parse_hex(text: str) -> tuple[int, int, int]:
    """'#5a3a22' or '5a3a22' -> 8-bit red, green, blue; BadQuantity otherwise."""
    match = re.fullmatch(r"#?([0-9a-fA-F]{6})", text.strip())
    if not match:
        raise BadQuantity(
            f"{echo(text)} is not a colour", expected="six hex digits such as #5a3a22 (in quotes)"
        )
    digits = match.group(1)
    return int(digits[:2], 16), int(digits[2:4], 16), int(digits[4:], 16)


def srgb_to_lab(red: int, green: int, blue: int) -> Lab:
    """8-bit sRGB (0..255 each) -> L*, a*, b*."""

    def linear(channel: int) -> float:
        v = channel / 255
        return v / 12.92 if v <= 0.04045 else ((v + 0.055) / 1.055) ** 2.4

    rgb = (linear(red), linear(green), linear(blue))
    xyz = [sum(m * c for m, c in zip(row, rgb, strict=True)) for row in _TO_XYZ]

    def f(r: float) -> float:
        return float(r ** (1 / 3)) if r > _EPS else r / (3 * (6 / 29) ** 2) + 4 / 29

    x, y, z = (f(v / w) for v, w in zip(xyz, _WHITE, strict=True))
    return 116 * y - 16, 500 * (x - y), 200 * (y - z)


def lab_to_hex(lab: Lab) -> str:
    """L*, a*, b* -> '#rrggbb' for drawing a chip; channels outside sRGB are clipped."""
    lightness, a, b = lab
    fy = (lightness + 16) / 116
    fx, fz = fy + a / 500, fy - b / 200

    def back(f: float) -> float:
        return f**3 if f**3 > _EPS else 3 * (6 / 29) ** 2 * (f - 4 / 29)

    xyz = [back(f) * w for f, w in zip((fx, fy, fz), _WHITE, strict=True)]

    def channel(row: tuple[float, float, float]) -> int:
        v = min(1.0, max(0.0, sum(m * c for m, c in zip(row, xyz, strict=True))))
        v = 12.92 * v if v <= 0.0031308 else 1.055 * v ** (1 / 2.4) - 0.055
        return round(255 * v)

    return "#" + "".join(f"{channel(row):02x}" for row in _TO_RGB)


def ciede2000(one: Lab, two: Lab) -> float:
    """CIEDE2000 difference of two Lab colours (kL = kC = kH = 1); 0 for the same colour."""
    l1, a1, b1 = one
    l2, a2, b2 = two
    mean_c7 = ((math.hypot(a1, b1) + math.hypot(a2, b2)) / 2) ** 7
    g = 0.5 * (1 - math.sqrt(mean_c7 / (mean_c7 + 25.0**7)))
    a1p, a2p = (1 + g) * a1, (1 + g) * a2
    c1p, c2p = math.hypot(a1p, b1), math.hypot(a2p, b2)
    h1 = math.degrees(math.atan2(b1, a1p)) % 360 if c1p else 0.0
    h2 = math.degrees(math.atan2(b2, a2p)) % 360 if c2p else 0.0

    grey = c1p * c2p == 0
    dh = 0.0 if grey else h2 - h1
    if dh > 180:
        dh -= 360
    elif dh < -180:
        dh += 360
    dl, dc = l2 - l1, c2p - c1p
    dhp = 2 * math.sqrt(c1p * c2p) * math.sin(math.radians(dh / 2))

    lm, cm = (l1 + l2) / 2, (c1p + c2p) / 2
    if grey:
        hm = h1 + h2
    elif abs(h1 - h2) <= 180:
        hm = (h1 + h2) / 2
    else:
        hm = (h1 + h2 + 360) / 2 if h1 + h2 < 360 else (h1 + h2 - 360) / 2
    t = (
        1
        - 0.17 * math.cos(math.radians(hm - 30))
        + 0.24 * math.cos(math.radians(2 * hm))
        + 0.32 * math.cos(math.radians(3 * hm + 6))
        - 0.20 * math.cos(math.radians(4 * hm - 63))
    )
    sl = 1 + 0.015 * (lm - 50) ** 2 / math.sqrt(20 + (lm - 50) ** 2)
    sc = 1 + 0.045 * cm
    sh = 1 + 0.015 * cm * t
    cm7 = cm**7
    rt = (
        -2
        * math.sqrt(cm7 / (cm7 + 25.0**7))
        * math.sin(math.radians(60 * math.exp(-(((hm - 275) / 25) ** 2))))
    )
    return math.sqrt((dl / sl) ** 2 + (dc / sc) ** 2 + (dhp / sh) ** 2 + rt * (dc / sc) * (dhp / sh))
