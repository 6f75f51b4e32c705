"""Numbers as a bench says them, in metric or US units. What is reckoned stays in mm, g/m2 and MPa."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from woodref.selection.glues import LB_1000_FT2, degrees, time_words
from woodref.selection.words import joined
from woodref.units import convert

#: lengths from here on are told in metres or feet [mm]
LONG = 10_000.0


@dataclass(frozen=True)
class Say:
    """system: metric or us."""

    system: str = "metric"

    @property
    def us(self) -> bool:
        return self.system == "us"

    def _in(self, value: float, unit: str, to: str) -> float:
        return float(convert(Decimal(repr(float(value))), unit, to))

    def mm(self, value: float, digits: int | None = None) -> str:
        """'8.7 mm' or '0.343 in'; digits of the metric number, by size if not given."""
        if self.us:
            inches = self._in(value, "mm", "in")
            if abs(value) >= LONG:
                return f"{inches / 12:.0f} ft"
            return f"{inches:.{3 if abs(inches) < 1 else 2 if abs(inches) < 20 else 1}f} in"
        if abs(value) >= LONG:
            return f"{value / 1000:.0f} m"
        if digits is None:
            digits = 2 if abs(value) < 1 else 1 if abs(value) < 100 else 0
        text = f"{value:.{digits}f}"
        return f"{text.rstrip('0').rstrip('.') if '.' in text else text} mm"

    def g_m2(self, value: float) -> str:
        """A spread: '110 g/m2' or '23 lb per 1000 sq ft'."""
        return f"{value * LB_1000_FT2:.0f} lb per 1000 sq ft" if self.us else f"{value:.0f} g/m2"

    def kg_m2(self, grams: float) -> str:
        """A weight of an area from g/m2: '5.2 kg/m2' or '1.07 lb per sq ft'."""
        return f"{grams * LB_1000_FT2 / 1000:.2f} lb per sq ft" if self.us else f"{grams / 1000:.2f} kg/m2"

    def grams(self, value: float) -> str:
        """'940 g', '1.1 kg', or ounces and pounds."""
        if self.us:
            pounds = self._in(value, "g", "lb")
            return f"{pounds:.2f} lb" if pounds >= 1 else f"{pounds * 16:.1f} oz"
        return f"{value / 1000:.2f} kg" if value >= 1000 else f"{value:.0f} g"

    def density(self, value: float) -> str:
        return f"{self._in(value, 'kg/m3', 'lb/ft3'):.1f} lb/ft3" if self.us else f"{value:.0f} kg/m3"

    def mpa(self, value: float) -> str:
        if self.us:
            return f"{self._in(value, 'MPa', 'psi'):.0f} psi"
        return f"{value:.2g} MPa" if value < 1 else f"{value:.1f} MPa"

    def gpa(self, value: float) -> str:
        if self.us:
            return f"{self._in(value, 'GPa', '10^6 psi'):.2f} million psi"
        return f"{value:.1f} GPa" if value >= 1 else f"{value:.2f} GPa"

    def newton(self, value: float) -> str:
        return f"{self._in(value, 'N', 'lbf'):.0f} lbf" if self.us else f"{value:.0f} N"

    def warmth(self, celsius: float) -> str:
        return degrees(celsius, self.system)

    def minutes(self, low: float, high: float) -> str:
        """'6 to 12 h', '30 to 45 min'."""
        return time_words({"low": low, "high": high})


def pct(value: float, digits: int = 1) -> str:
    """'6.2 %'; a number that rounds to a whole one without its nought."""
    text = f"{value:.{digits}f}"
    return f"{text.removesuffix('.0')} %"


def plies_called(numbers: Sequence[int]) -> str:
    """'Ply 2', 'Plies 2, 4 and 6'."""
    return f"{'Ply' if len(numbers) == 1 else 'Plies'} {joined([str(n) for n in numbers])}"


def plural(number: int, word: str, many: str | None = None) -> str:
    """'1 ply', '7 plies'."""
    return f"{number} {word if number == 1 else many or word + 's'}"
