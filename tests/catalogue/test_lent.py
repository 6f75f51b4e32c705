"""A catalogue of lent woods and glues answers with these alone, and with the law of the built file."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace

import pytest

from woodref.catalogue.lent import Lent
from woodref.catalogue.names import Matched, resolve
from woodref.catalogue.reader import Catalogue
from woodref.errors import BadBundle

ON = dt.date(2026, 6, 1)


def lent(catalogue: Catalogue) -> Lent:
    wood = replace(catalogue.material("alnus-rubra"), name="shed alder", id="my/shed/alder")
    glue = catalogue.adhesives["epoxy"]
    return Lent(
        catalogue.path, catalogue.connection, settled={"the pale one": Matched(wood.id, wood.name, "trade")},
        woods={wood.id: wood}, glues={"epoxy": glue}, lab={"shed-grey": (50.0, 0.0, 0.0)},
        mark={"version": "9", "digest": "d"},
    )  # fmt: skip


def test_what_was_lent_is_there_and_nothing_else(catalogue: Catalogue) -> None:
    found = lent(catalogue)
    assert found.ids() == ["my/shed/alder"] and [m.name for m in found.materials()] == ["shed alder"]
    assert found.material("my/shed/alder").name == "shed alder"
    with pytest.raises(BadBundle, match="it holds no figures of"):
        found.material("alnus-rubra")
    assert list(found.adhesives) == ["epoxy"] and found.stamp == {"version": "9", "digest": "d"}
    assert found.colour_classes["shed-grey"].lab == (50.0, 0.0, 0.0)
    assert catalogue.colour_classes.keys() < found.colour_classes.keys()
    assert found.law.as_of == catalogue.law.as_of


def test_a_settled_name_goes_before_all_others(catalogue: Catalogue) -> None:
    found = lent(catalogue)
    assert resolve("the pale one", found, ON).id == "my/shed/alder"
    assert resolve("red alder", found, ON).id == "alnus-rubra"  # as the built file knows it
