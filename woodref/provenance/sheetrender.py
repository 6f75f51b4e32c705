"""The files of a customer sheet beside sheet.json: page, linked data, the way of the wood, declaration."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

from woodref.catalogue.reader import Catalogue
from woodref.provenance.sheetpage import page
from woodref.provenance.sheets import Render
from woodref.provenance.store import Store


def render_of(store: Store, catalogue: Catalogue, item: str) -> Render:
    """Makes the files of a sheet of an item."""

    def render(told: Mapping[str, Any], signature: str) -> Mapping[str, str]:
        return {"sheet.html": page(told, signature)}

    return render


def as_json(value: Any) -> str:
    return json.dumps(value, ensure_ascii=False, indent=1) + "\n"
