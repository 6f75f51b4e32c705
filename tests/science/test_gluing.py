"""Glue water against check values (independent mass balance); cure and heat against the trade's anchors."""

from __future__ import annotations

import pytest

from woodref.science import gluing


def test_the_water_of_the_check_values() -> None:
    thin, core = (0.0006, 600, 8), (0.0026, 450, 8)
    assert gluing.water_points([thin, core, thin], [(120, 0.65)] * 2) == pytest.approx(4.8, rel=1e-9)
    assert gluing.water_points([(0.0015, 640, 6)] * 5, [(180, 1.0)] * 4) == pytest.approx(0, abs=1e-12)


def test_ten_thin_plies_get_wet() -> None:
    # ten 0.6 mm plies of 600 kg/m3 at 8 %: 3.3333 kg/m2 dry; nine lines of 150 g/m2 at half water 0.675
    assert gluing.water_points([(0.0006, 600, 8)] * 10, [(150, 0.5)] * 9) == pytest.approx(20.25)


def test_cure_goes_through_its_anchors_and_halves_every_ten_degrees() -> None:
    assert gluing.cure_time(20, 20, 6 * 60) == 360  # minutes: six hours cold (common practice)
    assert gluing.cure_time(60, 20, 360) == pytest.approx(
        10, rel=0.02
    )  # ten minutes at 60 C (common practice)
    slower, quicker = gluing.cure_time(20, 20, 1.0), gluing.cure_time(30, 20, 1.0)
    assert slower and quicker and 1.9 < slower / quicker < 3
    assert gluing.cure_time(9.9, 20, 360) is None


def test_heat_takes_minutes_to_the_far_line() -> None:
    # 6 mm: 36e-6 / 6e-7 = 60 s at the soonest, 240 s at the latest
    assert gluing.heat_up(0.006) == pytest.approx((60, 240))


def test_a_bag_presses_as_the_air_does() -> None:
    assert gluing.bag_pressure() == pytest.approx((0.0803, 0.0953))
    assert gluing.bag_pressure(1000)[1] == pytest.approx(0.0953 - 0.012)
