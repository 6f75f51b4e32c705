"""CIEDE2000 from one colour to many at once: the same formula as `colour.ciede2000`, on arrays."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from woodref.science.colour import Lab


def ciede2000_to_many(one: Lab, many: NDArray[np.float64]) -> NDArray[np.float64]:
    """Differences (n,) from one Lab to the rows of many (n, 3); nan rows give nan.

    Sharma, Wu and Dalal 2005; kL = kC = kH = 1. A test holds it equal to the scalar form.
    """
    import numpy as np

    l1, a1, b1 = one
    l2, a2, b2 = many[:, 0], many[:, 1], many[:, 2]
    mean_c7 = ((np.hypot(a1, b1) + np.hypot(a2, b2)) / 2) ** 7
    g = 0.5 * (1 - np.sqrt(mean_c7 / (mean_c7 + 25.0**7)))
    a1p, a2p = (1 + g) * a1, (1 + g) * a2
    c1p, c2p = np.hypot(a1p, b1), np.hypot(a2p, b2)
    h1 = np.where(c1p == 0, 0.0, np.degrees(np.arctan2(b1, a1p)) % 360)
    h2 = np.where(c2p == 0, 0.0, np.degrees(np.arctan2(b2, a2p)) % 360)

    grey = c1p * c2p == 0
    dh = np.where(grey, 0.0, h2 - h1)
    dh = np.where(dh > 180, dh - 360, np.where(dh < -180, dh + 360, dh))
    dl, dc = l2 - l1, c2p - c1p
    dhp = 2 * np.sqrt(c1p * c2p) * np.sin(np.radians(dh / 2))

    lm, cm = (l1 + l2) / 2, (c1p + c2p) / 2
    total = h1 + h2
    far = np.abs(h1 - h2) > 180
    hm = np.where(grey, total, np.where(far, np.where(total < 360, total + 360, total - 360) / 2, total / 2))
    t = (
        1
        - 0.17 * np.cos(np.radians(hm - 30))
        + 0.24 * np.cos(np.radians(2 * hm))
        + 0.32 * np.cos(np.radians(3 * hm + 6))
        - 0.20 * np.cos(np.radians(4 * hm - 63))
    )
    sl = 1 + 0.015 * (lm - 50) ** 2 / np.sqrt(20 + (lm - 50) ** 2)
    sc = 1 + 0.045 * cm
    sh = 1 + 0.015 * cm * t
    cm7 = cm**7
    rt = -2 * np.sqrt(cm7 / (cm7 + 25.0**7)) * np.sin(np.radians(60 * np.exp(-(((hm - 275) / 25) ** 2))))
    found: NDArray[np.float64] = np.sqrt(
        (dl / sl) ** 2 + (dc / sc) ** 2 + (dhp / sh) ** 2 + rt * (dc / sc) * (dhp / sh)
    )
    return found
