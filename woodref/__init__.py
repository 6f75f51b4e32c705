"""woodref: materials reference for people who laminate wood and veneer.

>>> import woodref
>>> with woodref.open() as catalogue:
...     wide = catalogue.frame()
>>> float(wide.loc["alnus-rubra", "moe_gpa"])
9.5
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from woodref.version import __version__

if TYPE_CHECKING:
    from woodref.catalogue.reader import Catalogue


__all__ = ["__version__", "open"]


def open() -> Catalogue:
    """The catalogue, built if need be; close it or use it as a context manager."""
    from woodref.catalogue.reader import open_catalogue

    return open_catalogue()
