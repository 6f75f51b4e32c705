"""How long the catalogue takes to build: a person waits for it once, after every change of the data."""

from __future__ import annotations

import resource
from pathlib import Path

from woodref import paths
from woodref.catalogue.build import build_into
from woodref.catalogue.check import load_all

#: seconds of user CPU for reading, checking and writing all of data/; imports are outside the clock
LIMIT = 1.0


def _user_cpu() -> float:
    return resource.getrusage(resource.RUSAGE_SELF).ru_utime


def test_the_catalogue_builds_in_under_a_second(tmp_path: Path) -> None:
    data = paths.data_dir()
    build_into(tmp_path / "warm", load_all(data), "warm")  # late imports happen here
    took = []
    for turn in range(3):
        start = _user_cpu()
        loaded = load_all(data)
        path = build_into(tmp_path / str(turn), loaded, "timed")
        took.append(_user_cpu() - start)
        assert path.stat().st_size > 100_000  # it was really built
    print(f"built {len(loaded.materials)} materials in {min(took):.2f} s of user CPU")
    # the limit is that of 60 materials: it grows with their number
    assert min(took) < LIMIT * max(1, len(loaded.materials) / 60)
