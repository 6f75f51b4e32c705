"""From figures to places on a picture and back, with round marks at the axes."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

#: a scale begins at 0 unless the lowest value is above this share of the highest
FROM_ZERO = 0.45


@dataclass(frozen=True)
class Scale:
    """low, high: ends of the axis in its own unit; start, end: where they lie on the picture."""

    low: float
    high: float
    start: float
    end: float
    step: float

    def at(self, value: float) -> float:
        return self.start + (value - self.low) / (self.high - self.low) * (self.end - self.start)

    @property
    def ticks(self) -> list[float]:
        """Round values from end to end."""
        first, last = math.ceil(self.low / self.step - 1e-9), math.floor(self.high / self.step + 1e-9)
        return [n * self.step for n in range(first, last + 1)]


def round_step(width: float, about: int) -> float:
    """1, 2 or 5 times a power of ten, so that about so many steps span the width (above 0)."""
    raw = width / about
    power = 10.0 ** math.floor(math.log10(raw))
    return next(power * n for n in (1, 2, 5, 10) if power * n >= raw * (1 - 1e-9))


def fitted(values: Sequence[float], start: float, end: float, about: int = 7) -> Scale:
    """A scale that holds every value between round ends; 0 to 1 where there is none."""
    low, high = (min(values), max(values)) if values else (0.0, 1.0)
    if low < FROM_ZERO * high or low <= 0:
        low = min(low, 0.0)
    if high <= low:
        low, high = low - 0.5 * abs(low or 1.0), high + 0.5 * abs(high or 1.0)
    step = round_step(high - low, about)
    return Scale(math.floor(low / step + 1e-9) * step, math.ceil(high / step - 1e-9) * step, start, end, step)
