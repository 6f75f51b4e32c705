"""A catalogue whose woods, glues and colour classes are lent by something else than the built file, such as
a bundle. What is no figure (law, countries) still comes from the built file."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Any

from woodref.catalogue.material import Material
from woodref.catalogue.reader import Catalogue, ColourClass
from woodref.errors import BadBundle, echo


@dataclass
class Lent(Catalogue):
    """woods, glues: by id, and no others are there; lab: colour class -> how it is drawn; mark: its `stamp`.
    The connection belongs to whoever opened it. BadBundle when a wood is asked for that was not lent."""

    woods: Mapping[str, Material] = field(default_factory=dict)
    glues: Mapping[str, dict[str, Any]] = field(default_factory=dict)
    lab: Mapping[str, tuple[float, float, float]] = field(default_factory=dict)
    mark: Mapping[str, str] = field(default_factory=dict)

    @property
    def stamp(self) -> dict[str, str]:
        """That of the catalogue the figures were taken from."""
        return dict(self.mark)

    @cached_property
    def adhesives(self) -> dict[str, dict[str, Any]]:
        """The glues that were lent."""
        return dict(self.glues)

    @cached_property
    def colour_classes(self) -> dict[str, ColourClass]:
        """The classes of the built file, those that were lent with the colour they came with."""
        out = dict(Catalogue(self.path, self.connection).colour_classes)
        for name, lab in self.lab.items():
            known = out.get(name, ColourClass(name, name, lab, 0.0, frozenset()))
            out[name] = replace(known, lab=lab)
        return out

    def ids(self) -> list[str]:
        """Ids of the woods that were lent, sorted."""
        return sorted(self.woods)

    def material(self, material_id: str) -> Material:
        """One wood that was lent."""
        if material_id not in self.woods:
            raise BadBundle(f"it holds no figures of {echo(material_id)}")
        return self.woods[material_id]

    def materials(self) -> list[Material]:
        """All woods that were lent, by id."""
        return [self.woods[name] for name in self.ids()]
