"""The files of a customer sheet beside sheet.json: page, linked data, the way of the wood, declaration."""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Mapping
from typing import Any

from woodref.catalogue.reader import Catalogue
from woodref.provenance.declaration import declaration_rows
from woodref.provenance.linked import linked_data
from woodref.provenance.naming import names_of
from woodref.provenance.provexport import prov_json
from woodref.provenance.sheetpage import page
from woodref.provenance.sheets import Render
from woodref.provenance.store import Store


def render_of(store: Store, catalogue: Catalogue, item: str, on: dt.date) -> Render:
    """Makes the files of a sheet of an item, as the book stands on that day."""

    def render(told: Mapping[str, Any], signature: str) -> Mapping[str, str]:
        names = names_of(catalogue, on)
        proof = {part["lot"]: part["wood_is"] for part in told["parts"]}
        return {
            "sheet.html": page(told, signature),
            "linked.jsonld": _json(linked_data(store, item, names=names, maker=told["maker"], proof=proof)),
            "prov.json": _json(prov_json(store, item)),
            "declaration.csv": declaration_rows(store, item, names).as_csv(),
        }

    return render


def _json(value: Any) -> str:
    return json.dumps(value, ensure_ascii=False, indent=1) + "\n"
