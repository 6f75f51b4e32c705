"""Events from a file: JSON with documents, lots and events, or CSV with one event a line. All or nothing."""

from __future__ import annotations

import csv
import io
import json
import re
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

from woodref.errors import WoodrefError, echo
from woodref.files import bytes_of
from woodref.provenance.canonical import in_nfc
from woodref.provenance.faults import BadEncoding, BadImport, BadShape, BookFault
from woodref.provenance.shapes import CREATES, Event, event_of, named_lots

if TYPE_CHECKING:
    from woodref.provenance.store import Store
    from woodref.provenance.writer import Actor, Recorded

#: lots that a sentence names one by one
_NAMED = 10
_WHOLE = "amounts in whole mm2, nL, mg or pieces"
#: a file larger than this is refused [bytes]: some eighty thousand events. One that is made up of nothing but
#: brackets takes fifty times its size in memory
MAX_BYTES = 32_000_000
COLUMNS = ("id", "time", "kind", "in", "out", "waste", "note")
_SHARE = re.compile(
    r"(?P<lot>\S+)\s+(?P<qty>-?[0-9]{1,30})\s*(?P<unit>mm2|nL|mg|pcs)(?:\s+x\s*(?P<plies>[0-9]{1,30}))?"
)


def text_of(body: bytes, file: str) -> str:
    """UTF-8 text without NUL; BadEncoding names the byte."""
    if len(body) > MAX_BYTES:
        raise BadImport(f"{file} is larger than {MAX_BYTES:,} bytes", next="Record it in parts.")
    try:
        text = body.decode("utf-8-sig")
    except UnicodeDecodeError as fault:
        raise BadEncoding(f"{file}: byte {fault.start} is not UTF-8", expected="UTF-8 text") from None
    at = text.find("\x00")
    if at >= 0:
        raise BadEncoding(f"{file}: byte {len(text[:at].encode())} is NUL", expected="UTF-8 text")
    return text


#: where an event stands in its file, and the event
Placed = tuple[str, Event]


def read_file(path: Path) -> bytes:
    """The bytes of a file of events, or of standard input for '-'. BadImport for one that is too large."""
    return bytes_of(path, MAX_BYTES, BadImport, "Record it in parts.")


def record_placed(
    store: Store,
    placed: list[Placed],
    actor: Actor = None,
    progress: Callable[[int], None] | None = None,
    prove: Callable[[str], list[str]] | None = None,
) -> list[Recorded]:
    """Record the events of a file; the first that the book refuses is told with its place. prove: what
    claims among them are weighed by."""
    try:
        return store.record([event for _, event in placed], actor, prove=prove, progress=progress)
    except BookFault as fault:
        # of ids that begin alike (E1, E10) the longest is meant
        told = [(event.id, place) for place, event in placed if (fault.where or "").startswith(event.id)]
        at = max(told, key=lambda t: len(t[0]))[1] if told else None
        if at is None or isinstance(fault, BadImport):
            raise
        raise refused(at, fault) from fault


def events_of(body: bytes, file: str) -> list[Placed]:
    """(where it stands, event) of a file. BadImport names the line of the first that cannot be read."""
    text = text_of(body, file)
    if text.lstrip()[:1] in ("{", "["):
        return _from_json(text, file)
    return _from_csv(text, file)


def _from_json(text: str, file: str) -> list[Placed]:
    try:
        told = in_nfc(
            json.loads(text, parse_float=_no_float, parse_constant=_no_float, object_pairs_hook=_once)
        )
    except json.JSONDecodeError as fault:
        raise BadShape(f"{file}:{fault.lineno}: not readable as JSON: {fault.msg}") from None
    except RecursionError:
        raise BadShape(f"{file}: nested too deeply to read") from None
    except ValueError:
        # Python turns no text of more than some thousand digits into a number
        raise BadShape(f"{file}: it holds a number of thousands of digits", expected=_WHOLE) from None
    whole: dict[str, Any] = told if isinstance(told, dict) else {"events": told}
    unknown = set(whole) - {"documents", "lots", "events"}
    listed = whole.get("events")
    if unknown or not isinstance(listed, list):
        raise BadShape(f"{file} is no list of events", expected="{documents: [], lots: [], events: []}")
    lots = {}
    listed_lots = whole.get("lots") or []
    if not isinstance(listed_lots, list):
        raise BadShape(f"{file}: lots is no list", expected="lots: [{id, form, ...}]")
    for lot in listed_lots:
        if not isinstance(lot, dict) or not isinstance(lot.get("id"), str):
            raise BadShape(f"{file}: a lot without an id", expected="lots: [{id, form, ...}]")
        lots[lot["id"]] = {key: value for key, value in lot.items() if key not in ("id", "qty")}
    papers = whole.get("documents") or []
    if not isinstance(papers, list) or not all(isinstance(p, dict) for p in papers):
        raise BadShape(f"{file}: documents is no list of mappings", expected="documents: [{id, kind, lot}]")
    out: list[Placed] = []
    for index, entry in enumerate(listed, 1):
        where = f"{file}: event {index}"
        out.append((where, _read(where, entry, lots, papers)))
    _nothing_left(file, [event for _, event in out], lots, papers)
    return out


def _nothing_left(file: str, events: list[Event], lots: dict[str, Any], papers: list[dict[str, Any]]) -> None:
    """BadShape when a lot or a paper of the file belongs to none of its events, and would be lost."""
    idle = sorted(lots.keys() - {share.lot for event in events for share in event.out})
    if idle:
        named = ", ".join(echo(lot)[1:-1] for lot in idle[:_NAMED])
        more = f" and {len(idle) - _NAMED} more" if len(idle) > _NAMED else ""
        raise BadShape(f"{file}: no event makes lot {named}{more}", next="Add the event, or leave it out.")
    brought = {share.lot for event in events if event.kind in CREATES for share in event.out}
    for paper in papers:
        if not named_lots(paper) & brought:
            raise BadShape(
                f"{file}: document {echo(str(paper.get('id')))} is of no lot that this file receives",
                next="Of a lot that is in the book already it takes an event attach-document.",
            )


def _no_float(text: str) -> Any:
    raise BadShape(f"{echo(text)} is no whole number", expected=_WHOLE)


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    """A mapping of the file; of a key that stands twice JSON would keep the last and lose the others."""
    out = dict(pairs)
    if len(out) != len(pairs):
        keys = [key for key, _ in pairs]
        twice = next(key for key in keys if keys.count(key) > 1)
        raise BadShape(f"the key {echo(twice)} stands twice in one mapping", expected="each key once")
    return out


def _read(where: str, entry: Any, lots: dict[str, Any], papers: list[Any]) -> Event:
    try:
        return event_of(entry, lots, papers)
    except BookFault as fault:
        raise refused(where, fault) from fault


def refused(where: str, fault: WoodrefError) -> BadImport:
    """The first wrong event of a file, with its own fault; nothing was recorded."""
    return BadImport(
        f"{where}: {fault.message}",
        expected=fault.expected,
        next=f"{fault.next or ''} Nothing was recorded.".strip(),
    )


def _from_csv(text: str, file: str) -> list[Placed]:
    rows = _rows(text, file)
    head = [cell.strip() for cell in next(rows, (0, []))[1]]
    if not {"id", "time", "kind"} <= set(head) or set(head) - set(COLUMNS) or len(head) > len(set(head)):
        raise BadShape(f"{file}: its first line is {echo(','.join(head))}", expected=",".join(COLUMNS))
    out = []
    for line, row in rows:
        where = f"{file}: line {line}"
        if any(cell.strip() for cell in row[len(head) :]):
            raise refused(where, BadShape(f"it has {len(row)} cells under {len(head)} columns"))
        cells = dict(zip(head, row, strict=False))
        entry: dict[str, Any] = {key: cells[key].strip() for key in ("id", "time", "kind") if cells.get(key)}
        if cells.get("note"):
            entry["note"] = cells["note"]
        try:
            for key in ("in", "out", "waste"):
                if cells.get(key, "").strip():
                    entry[key] = [_share(part) for part in cells[key].split(";") if part.strip()]
        except BookFault as fault:
            raise refused(where, fault) from fault
        out.append((where, _read(where, entry, {}, [])))
    return out


def _rows(text: str, file: str) -> Iterator[tuple[int, list[str]]]:
    """(line, cells) of what is written in a CSV; one line at a time, since a file may be all line ends."""
    reader = csv.reader(io.StringIO(text))
    try:
        for row in reader:
            if row and any(cell.strip() for cell in row):
                yield reader.line_num, row
    except csv.Error as fault:
        raise BadShape(f"{file}: no CSV ({fault})") from None


def _share(text: str) -> dict[str, Any]:
    match = _SHARE.fullmatch(text.strip())
    if not match:
        raise BadShape(
            f"{echo(text)} is no share",
            expected="LOT AMOUNT UNIT, such as L-B 720000 mm2 or L-I 1085600 mm2 x 4",
        )
    out: dict[str, Any] = {"lot": match["lot"], "qty": int(match["qty"]), "unit": match["unit"]}
    return out | ({"plies": int(match["plies"])} if match["plies"] else {})
