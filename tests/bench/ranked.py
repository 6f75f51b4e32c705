"""Ranking woods against a target, beside pandas and scikit-learn (fitted before, or for the question).

The peers reckon a plain distance over eight numbers; ours must name the same ten by it first. Then ours
does more: desirabilities, words and colours, missing figures, intervals.
"""

from __future__ import annotations

import numpy as np
import pandas as pd
from test_rank_time import NUMBERS, grown, scaled
from timing import Row, absent, interleaved, missing

from woodref.catalogue.reader import open_catalogue
from woodref.selection.ranking import rank
from woodref.selection.roles import WEIGHTS, Profile
from woodref.selection.wanted import of_material


def _by_pandas(wide: pd.DataFrame, keep_all: bool = False) -> pd.Series:
    """The ten nearest of the woods of middling weight, or of all."""
    held = wide if keep_all else wide[(wide.density > 400) & (wide.density < 900)]
    return (held.drop(columns="density") ** 2).sum(axis=1).nsmallest(10)


def rows(runs: int, full: bool) -> list[Row]:
    """Three sizes."""
    out = []
    with open_catalogue() as catalogue:
        wanted, profile = of_material(catalogue.material("acer-saccharum")), Profile("face", WEIGHTS["face"])
        for n in (300, 5_000, 100_000):
            table, size = grown(catalogue, n), f"{n:,} woods"
            plain = scaled(table, wanted, Profile("none", {}))
            distance = (plain**2).sum(axis=1)
            found = rank(table, wanted, Profile("none", dict.fromkeys(NUMBERS, 1.0)))
            reach = np.array([Profile("none", {}).tolerance(name) for name in found.names])
            own = (np.nan_to_num(found.difference / reach) ** 2).sum(axis=1)
            ten = np.argsort(own, kind="stable")[:10]
            frame = pd.DataFrame({"distance": distance, "density": table.numbers["density"]})
            wide = pd.DataFrame(plain).assign(density=table.numbers["density"])
            by_pandas = _by_pandas(wide, keep_all=True)
            assert list(by_pandas.index) == list(ten)
            assert list(ten) == list(np.argsort(distance, kind="stable")[:10])
            assert np.allclose(own[ten], frame.nsmallest(10, "distance").distance)
            same = "the ten nearest by plain distance; ours then reckons more"

            def ours(table: object = table) -> object:
                return rank(table, wanted, profile)  # type: ignore[arg-type]

            took = interleaved(ours, lambda wide=wide: _by_pandas(wide), runs=runs)  # type: ignore[misc]
            peer = "pandas: filter, distance, ten nearest"
            out.append(Row("ranking", "likeness of all", size, took[0], peer, took[1], same))
            gone = missing("sklearn")
            if gone:
                out.append(absent("ranking", "likeness of all", size, gone))
                continue
            from sklearn.neighbors import NearestNeighbors

            origin = np.zeros((1, len(NUMBERS)))
            fitted = NearestNeighbors(n_neighbors=10, algorithm="brute").fit(plain)
            apart, _ = fitted.kneighbors(origin)
            assert np.allclose(apart[0] ** 2, own[ten])

            def fresh(plain: np.ndarray = plain, origin: np.ndarray = origin) -> object:
                return NearestNeighbors(n_neighbors=10, algorithm="brute").fit(plain).kneighbors(origin)

            took = interleaved(ours, lambda f=fitted, o=origin: f.kneighbors(o), fresh, runs=runs)  # type: ignore[misc]
            out.append(
                Row("ranking", "likeness of all", size, took[0], "scikit-learn, fitted", took[1], same)
            )
            out.append(
                Row("ranking", "likeness of all", size, took[0], "scikit-learn, fit and ask", took[2], same)
            )
    return out
