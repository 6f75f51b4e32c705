"""Ask the installed explorer for its first pages, from any folder: explorer_answers.py ENVIRONMENT

ENVIRONMENT is the folder that woodref has to be installed in, so that no checkout answers in its place."""

from __future__ import annotations

import asyncio
import re
import sys
from pathlib import Path

import httpx

import woodref
from woodref.catalogue.reader import open_catalogue
from woodref.explorer.asking import Shop
from woodref.explorer.serving import app_of, explorer

PAGES = (
    "/", "/woods", "/wood/juglans-nigra", "/instead?of=Brazilian+rosewood", "/layup?begin=seat-shell",
    "/trade", "/about", "/catalogue/material",
)  # fmt: skip


async def main() -> None:
    """Print each page with its status; exit with a sentence at the first that is not answered."""
    made = explorer(Shop(open_catalogue()))
    await made.invoke_startup()
    transport = httpx.ASGITransport(app=app_of(made))
    async with httpx.AsyncClient(transport=transport, base_url="http://127.0.0.1:8321") as asked:
        dress = re.findall(r'(?:href|src)="(/[^"]+\.(?:css|js)[^"]*)"', (await asked.get("/")).text)
        if not dress:
            sys.exit("the first page has no style sheet")
        for page in (*PAGES, *dress):
            answer = await asked.get(page)
            print(answer.status_code, page, f"{len(answer.content):,} bytes")
            if answer.status_code != 200:
                sys.exit(f"{page} is not answered")


home = Path(woodref.__file__).resolve()
if not home.is_relative_to(Path(sys.argv[1]).resolve()):
    sys.exit(f"woodref comes from {home}")
asyncio.run(main())
