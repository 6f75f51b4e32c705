"""Pages of the explorer, in process and warm, beside Datasette's own page of the same table."""

from __future__ import annotations

import asyncio
import time

import httpx
from datasette.app import Datasette
from timing import Row, of

from woodref.catalogue.reader import open_catalogue
from woodref.explorer.asking import Shop
from woodref.explorer.serving import app_of, explorer

PAGES = (
    "/", "/search?q=rosewood", "/wood/juglans-nigra", "/woods?density_from=450&density_to=600",
    "/beside?wood=dalbergia-nigra&wood=juglans-nigra&wood=acer-saccharum",
    "/instead?of=Brazilian+rosewood&role=face", "/catalogue/material_wide",
)  # fmt: skip


def rows(runs: int, full: bool) -> list[Row]:
    """One row a page."""
    return asyncio.run(_rows(runs))


async def _rows(runs: int) -> list[Row]:
    out = []
    with open_catalogue() as catalogue:
        made = explorer(Shop(catalogue))
        await made.invoke_startup()
        plain = Datasette([], immutables=[str(catalogue.path)])
        await plain.invoke_startup()
        at = "http://127.0.0.1:8321"
        ours = httpx.AsyncClient(transport=httpx.ASGITransport(app=app_of(made)), base_url=at)  # type: ignore[arg-type]
        theirs = httpx.AsyncClient(transport=httpx.ASGITransport(app=plain.app()), base_url=at)
        table = f"/{catalogue.path.stem}/material_wide"
        woods = len(catalogue.ids())
        async with ours, theirs:
            told = (await theirs.get(f"{table}.json?_size=1")).json()
            assert told["filtered_table_rows_count"] == woods
            for path in PAGES:
                took: tuple[list[float], list[float]] = ([], [])
                for turn in range(runs + 1):
                    for held, client, asked in zip(took, (ours, theirs), (path, table), strict=True):
                        begun = time.process_time()
                        answer = await client.get(asked)
                        spent = time.process_time() - begun
                        assert answer.status_code == 200, (asked, answer.status_code)
                        if turn:
                            held.append(spent)
                same = (
                    "as many woods in both"
                    if path == "/catalogue/material_wide"
                    else "other pages: for scale"
                )
                peer = "Datasette's page of the table"
                out.append(
                    Row("pages", f"`{path}`", f"{woods} materials", of(took[0]), peer, of(took[1]), same)
                )
    return out
