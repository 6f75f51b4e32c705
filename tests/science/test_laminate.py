"""Many packs at once: `rotated`, `matrices` and `shapes` beside the functions for one pack, and beside loops
over plain numbers that are written out here and share nothing with them."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from woodref.science.laminate import (
    Ply,
    free_shape,
    in_panel,
    matrices,
    reduced,
    rotated,
    shapes,
    stack,
    swelling,
    turn,
)

Matrix = list[list[float]]
CLOSE = 1e-9


def packs(n: int, plies: int, seed: int) -> tuple[dict[str, np.ndarray], np.ndarray]:
    """Constants (n, plies) of random packs, and a moisture change for each ply."""
    random = np.random.default_rng(seed)
    shape = (n, plies)
    e1 = random.uniform(6e9, 20e9, shape)
    return {
        "e1": e1,
        "e2": e1 * random.uniform(0.03, 0.15, shape),
        "nu12": random.uniform(0.2, 0.5, shape),
        "g12": e1 * random.uniform(0.04, 0.12, shape),
        "theta": random.uniform(-90, 90, shape),
        "t": random.uniform(0.4e-3, 3e-3, shape),
        "beta1": random.uniform(2e-5, 1e-4, shape),
        "beta2": random.uniform(1e-3, 4e-3, shape),
    }, random.uniform(-8, 8, shape)


def one(many: dict[str, np.ndarray], k: int) -> list[Ply]:
    """Pack k as plies."""
    return [Ply(**{name: float(v[k, i]) for name, v in many.items()}) for i in range(many["t"].shape[1])]


def free_of(many: dict[str, np.ndarray], change: np.ndarray) -> np.ndarray:
    """(n, plies, 3): what each ply would do alone, in the panel's axes."""
    return np.array(
        [[swelling(p) * c for p, c in zip(one(many, k), row, strict=True)] for k, row in enumerate(change)]
    )


# --- plain numbers ---------------------------------------------------------------------------------------


def plain_q(p: Ply) -> Matrix:
    """Q of a ply in the panel's axes: its own Q turned as a tensor of the fourth order, index by index, which
    is another way than the closed form (Jones ch. 2)."""
    nu21 = p.nu12 * p.e2 / p.e1
    d = 1 - p.nu12 * nu21
    own = {(0, 0, 0, 0): p.e1 / d, (1, 1, 1, 1): p.e2 / d}
    own[0, 0, 1, 1] = own[1, 1, 0, 0] = p.nu12 * p.e2 / d
    for a, b in ((0, 1), (1, 0)):
        own[a, b, 0, 1] = own[a, b, 1, 0] = p.g12
    c, s = math.cos(math.radians(p.theta)), math.sin(math.radians(p.theta))
    # panel direction x is c along the grain and -s across it, y is s along and c across
    to = [[c, -s], [s, c]]
    pairs = [(0, 0), (1, 1), (0, 1)]
    return [
        [
            math.fsum(
                value * to[i][a] * to[j][b] * to[k][e] * to[m][f] for (a, b, e, f), value in own.items()
            )
            for k, m in pairs
        ]
        for i, j in pairs
    ]


def plain_abd(plies: list[Ply]) -> list[Matrix]:
    h = math.fsum(p.t for p in plies)
    out = [[[0.0] * 3 for _ in range(3)] for _ in range(3)]
    bottom = -h / 2
    for p in plies:
        q, top = plain_q(p), bottom + p.t
        for i in range(3):
            for j in range(3):
                for k in (1, 2, 3):
                    out[k - 1][i][j] += q[i][j] * (top**k - bottom**k) / k
        bottom = top
    return out


def solved(matrix: Matrix, right: list[float]) -> list[float]:
    """Elimination with the largest pivot."""
    rows = [[*row, r] for row, r in zip(matrix, right, strict=True)]
    n = len(rows)
    for i in range(n):
        best = max(range(i, n), key=lambda k: abs(rows[k][i]))
        rows[i], rows[best] = rows[best], rows[i]
        for k in range(i + 1, n):
            factor = rows[k][i] / rows[i][i]
            rows[k] = [b - factor * a for a, b in zip(rows[i], rows[k], strict=True)]
    out = [0.0] * n
    for i in reversed(range(n)):
        out[i] = (rows[i][n] - math.fsum(rows[i][k] * out[k] for k in range(i + 1, n))) / rows[i][i]
    return out


def plain_shape(plies: list[Ply], change: list[float]) -> list[float]:
    """Strains and curvatures (6) of a free pack. Worked in mm, so that no pivot is tiny beside another."""
    a, b, d = plain_abd([Ply(p.e1, p.e2, p.nu12, p.g12, p.theta, 1000 * p.t) for p in plies])
    whole = [[*a[i], *b[i]] for i in range(3)] + [[*b[i], *d[i]] for i in range(3)]
    push = [0.0] * 6
    bottom = -1000 * math.fsum(p.t for p in plies) / 2
    for p, c in zip(plies, change, strict=True):
        q, top = plain_q(p), bottom + 1000 * p.t
        turn_ = math.radians(p.theta)
        along, across = p.beta1 * c, p.beta2 * c
        # a swelling as a tensor: xx, yy and twice xy
        free = [
            along * math.cos(turn_) ** 2 + across * math.sin(turn_) ** 2,
            along * math.sin(turn_) ** 2 + across * math.cos(turn_) ** 2,
            2 * (along - across) * math.sin(turn_) * math.cos(turn_),
        ]
        for i in range(3):
            stress = math.fsum(q[i][j] * free[j] for j in range(3))
            push[i] += stress * (top - bottom)
            push[3 + i] += stress * (top**2 - bottom**2) / 2
        bottom = top
    found = solved(whole, push)
    return [*found[:3], *(1000 * k for k in found[3:])]


# --- comparisons -----------------------------------------------------------------------------------------


@pytest.mark.parametrize("plies", [1, 2, 7])
def test_many_packs_are_as_each_alone(plies: int) -> None:
    many, change = packs(60, plies, 11 + plies)
    q = rotated(*(many[name] for name in ("e1", "e2", "nu12", "g12", "theta")))
    assert q.shape == (60, plies, 3, 3)
    a, b, d, z = matrices(q, many["t"])
    strain, curvature = shapes(q, many["t"], free_of(many, change))
    assert (a.shape, z.shape, strain.shape, curvature.shape) == (
        (60, 3, 3),
        (60, plies + 1),
        (60, 3),
        (60, 3),
    )
    for k in range(60):
        alone = stack(one(many, k))
        size, h = np.abs(alone.A).max(), alone.h
        for i, ply in enumerate(alone.plies):
            # the older way: strains turned into the ply's axes and back (Kaw Eq. 2.104)
            by_turning = turn(ply.theta).T @ reduced(ply) @ turn(ply.theta)
            assert np.abs(q[k, i] - by_turning).max() <= CLOSE * ply.e1
            assert np.abs(in_panel(ply) - by_turning).max() <= CLOSE * ply.e1
        for power, (all_of_them, its) in enumerate(((a, alone.A), (b, alone.B), (d, alone.D))):
            assert np.abs(all_of_them[k] - its).max() <= CLOSE * size * h**power
        assert np.abs(z[k] - alone.z).max() <= CLOSE * h
        e, c = free_shape(alone, change[k].tolist())
        scale = np.abs(many["beta2"][k] * change[k]).max()
        assert np.abs(strain[k] - e).max() <= CLOSE * scale
        assert np.abs(curvature[k] - c).max() <= CLOSE * scale / h


@pytest.mark.parametrize("plies", [1, 2, 7])
def test_many_packs_beside_plain_loops(plies: int) -> None:
    many, change = packs(40, plies, 23 + plies)
    q = rotated(*(many[name] for name in ("e1", "e2", "nu12", "g12", "theta")))
    found = matrices(q, many["t"])
    strain, curvature = shapes(q, many["t"], free_of(many, change))
    for k in range(40):
        alone = one(many, k)
        h = math.fsum(p.t for p in alone)
        for i, ply in enumerate(alone):
            assert np.abs(q[k, i] - plain_q(ply)).max() <= CLOSE * ply.e1
        plain = plain_abd(alone)
        size = np.abs(plain[0]).max()
        for power in range(3):
            assert np.abs(found[power][k] - plain[power]).max() <= CLOSE * size * h**power
        expected = plain_shape(alone, change[k].tolist())
        scale = np.abs(many["beta2"][k] * change[k]).max()
        assert np.abs(strain[k] - expected[:3]).max() <= CLOSE * scale
        assert np.abs(curvature[k] - expected[3:]).max() <= CLOSE * scale / h


def test_one_pack_without_a_first_axis_and_a_grid_of_packs() -> None:
    many, change = packs(6, 3, 5)
    names = ("e1", "e2", "nu12", "g12", "theta")
    free = free_of(many, change)
    q = rotated(*(many[name] for name in names))
    strain, curvature = shapes(q, many["t"], free)
    alone = shapes(q[4], many["t"][4], free[4])
    assert alone[0] == pytest.approx(strain[4], rel=1e-12)
    assert alone[1] == pytest.approx(curvature[4], rel=1e-12)
    grid = rotated(*(many[name].reshape(2, 3, 3) for name in names))
    e, c = shapes(grid, many["t"].reshape(2, 3, 3), free.reshape(2, 3, 3, 3))
    assert np.allclose(e.reshape(6, 3), strain, rtol=1e-12)
    assert np.allclose(c.reshape(6, 3), curvature, rtol=1e-12)


def test_two_layers_of_which_one_shrinks() -> None:
    # closed form for two equal isotropic layers, one shorter by de: kappa = 3 de/(2 h); 0.1 mm each and 1 %
    # give 75 1/m (Timoshenko 1925, bimetal strip of equal halves). Stretching bends it here: the upper
    # one, last
    # in the list, shrinks, so the top face gets shorter
    e, nu = np.array([10e9, 10e9]), np.array([0.3, 0.3])
    q = rotated(e, e, nu, e / 2.6, np.array([0.0, 37.0]))
    free = np.array([[0.0, 0.0, 0.0], [-0.01, -0.01, 0.0]])
    strain, curvature = shapes(q, np.array([1e-4, 1e-4]), free)
    assert curvature == pytest.approx([-75, -75, 0], abs=1e-6)
    assert strain == pytest.approx([-0.005, -0.005, 0], abs=1e-12)


@given(
    st.floats(4e9, 20e9), st.floats(0.02, 0.2), st.floats(0.1, 0.5), st.floats(0.03, 0.15), st.floats(-90, 90)
)
def test_what_no_turning_changes(e1: float, r: float, nu: float, g: float, theta: float) -> None:
    own, turned = (rotated(*(np.array(v) for v in (e1, r * e1, nu, g * e1, angle))) for angle in (0.0, theta))
    # the two linear invariants of a plane stiffness (Jones ch. 2)
    assert turned[0, 0] + turned[1, 1] + 2 * turned[0, 1] == pytest.approx(
        own[0, 0] + own[1, 1] + 2 * own[0, 1], rel=1e-12
    )
    assert turned[2, 2] - turned[0, 1] == pytest.approx(own[2, 2] - own[0, 1], abs=1e-12 * e1)
    assert np.array_equal(turned, turned.T)
