"""What goes out of the book to be read by machines: PROV-JSON, declaration rows, JSON-LD.

Expected figures: the scenario's own, worked out twice by others.
"""

from __future__ import annotations

import csv
import datetime as dt
import io
import json
import warnings
from fractions import Fraction
from importlib.resources import files
from pathlib import Path
from typing import Any

import prov.constants as pc
import prov.model as pm
import pytest

from woodref.catalogue.reader import Catalogue
from woodref.errors import WoodrefError
from woodref.provenance import linked, repairs
from woodref.provenance.bookname import book_name
from woodref.provenance.closing import Keeping, close
from woodref.provenance.declaration import CAUTION, Declaration, declaration_rows
from woodref.provenance.linked import linked_data
from woodref.provenance.naming import Written, names_of, plain_name
from woodref.provenance.provexport import prov_json
from woodref.provenance.store import Store
from woodref.provenance.times import moment
from woodref.provenance.trace import whence
from woodref.provenance.verify import check_book

SCENARIO = json.loads((Path(__file__).parent / "data" / "scenario.json").read_text("utf-8"))
HAND = "0b0b7c1e-5d0a-4c55-9d0e-3f1f6a2c9e11"
#: words that must not get out, and where they are planted
SECRETS = (
    "Odo Tamsin",
    "Odo of the mill",
    "9b2f0c1e-1111-4222-8333-444455556666",
    "412.50",
    "Marrowgate",
    "bench hand Mara",
    "keep quiet",
    "51.4779",
)


# --- PROV


def read(told: dict[str, Any]) -> pm.ProvDocument:
    found = pm.ProvDocument.deserialize(content=json.dumps(told), format="json")
    assert isinstance(found, pm.ProvDocument)
    return found


def modelled(scenario: dict[str, Any], book: str) -> pm.ProvDocument:
    """The whole scenario built with the other package's own API, from the file alone."""
    doc = pm.ProvDocument()
    wr = doc.add_namespace("wr", "urn:woodref:terms:")
    agent = doc.add_namespace("agent", "urn:uuid:")
    spaces = {
        name: doc.add_namespace(name, f"urn:woodref:book:{book}:{name}:")
        for name in ("lot", "document", "event", "relation")
    }
    lot, paper, event_, relation = (spaces[n] for n in ("lot", "document", "event", "relation"))
    facts = {entry["id"]: entry for entry in scenario["lots"]}
    doc.agent(agent[book], {"prov:type": pc.PROV["Organization"]})
    form, wood, made_of, held, last = {}, {}, {}, {}, {}
    order = [s["lot"] for e in scenario["events"] for s in e.get("out", ())]
    thick, dense = {}, {}

    def integer(value: int) -> pm.Literal:
        return pm.Literal(str(value), pc.XSD_INTEGER)

    for seq, event in enumerate(scenario["events"], 1):
        when, activity = event["time"], event_[event["id"]]
        doc.activity(activity, when, when, {"prov:type": wr[event["kind"]], "prov:label": event["id"]})
        doc.association(activity, agent[book], identifier=relation[f"a{seq}.1"])
        wasted = {s["lot"]: s["qty"] for s in event.get("waste", ())}
        going, coming = event.get("in", []), event.get("out", [])
        for n, s in enumerate(going, 1):
            more = {"wr:quantity": integer(s["qty"]), "wr:unit": s["unit"]}
            if s.get("plies", 1) != 1:
                more["wr:plies"] = integer(s["plies"])
            if s["lot"] in wasted:
                more["wr:waste"] = integer(wasted[s["lot"]])
            doc.usage(activity, lot[s["lot"]], when, relation[f"u{seq}.{n}"], more)
            held[s["lot"]] -= s["qty"]
            if event["kind"] != "ship":
                last[s["lot"]] = (seq, when, activity)
        brought = [p for p in scenario["documents"] if p["lot"] in {s["lot"] for s in coming}]
        if event["kind"] in ("receive", "open-stock"):
            for n, p in enumerate(brought, 1):
                doc.usage(activity, paper[p["id"]], when, relation[f"p{seq}.{n}"], {"prov:role": wr["paper"]})
        plan = sum(s["qty"] for s in coming)
        count = 0
        for n, s in enumerate(coming, 1):
            name = s["lot"]
            more = {"wr:quantity": integer(s["qty"]), "wr:unit": s["unit"]}
            doc.generation(lot[name], activity, when, relation[f"g{seq}.{n}"], more)
            held[name] = s["qty"]
            made_of[name] = [i["lot"] for i in going]
            if not going:
                own = facts[name]
                form[name], thick[name] = own["form"], own.get("thickness_um")
                dense[name] = own.get("density_kg_m3")
                wood[name] = [own["species"]] if own.get("species") else []
                continue
            parents = [i["lot"] for i in going if form[i["lot"]] not in ("adhesive", "finish")]
            kind = {"laminate": "panel", "assemble": "item", "assemble-close": "item"}.get(event["kind"])
            form[name] = kind or form[parents[0]]
            plain = form[name] not in ("panel", "item") and form[parents[0]] != "panel"
            thick[name] = thick[parents[0]] if plain else None
            dense[name] = dense[parents[0]] if plain else None
            wood[name] = list(dict.fromkeys(w for p in parents for w in wood[p]))
        for s in coming if going else []:
            for i in going:
                count += 1
                amount = Fraction(i["qty"], plan)
                net = Fraction(i["qty"] - wasted.get(i["lot"], 0), plan)
                if event["kind"] == "laminate" and form[i["lot"]] not in ("adhesive", "finish"):
                    net = Fraction(i.get("plies", 1))
                doc.derivation(
                    lot[s["lot"]], lot[i["lot"]], activity, identifier=relation[f"d{seq}.{count}"],
                    other_attributes={"wr:contained": str(net), "wr:used": str(amount)},
                )  # fmt: skip
    units = {s["lot"]: s["unit"] for e in scenario["events"] for s in e.get("out", ())}
    for name in order:
        own = facts.get(name, {})
        told: list[tuple[Any, Any]] = [("prov:type", wr[form[name]]), ("prov:label", name)]
        told += [("wr:unit", units[name])] + [("wr:wood", w) for w in wood[name]]
        told += [("wr:country", own["country"])] if own.get("country") else []
        told += [("wr:thickness_um", integer(thick[name]))] if thick[name] else []
        told += [("wr:density_kg_m3", integer(dense[name]))] if dense[name] else []
        if "wood_share_permille" in own:
            told.append(("wr:wood_share_permille", integer(own["wood_share_permille"])))
        told += [(f"wr:{key}", own[key]) for key in ("forest", "harvest") if own.get(key)]
        doc.entity(lot[name], told)
        if held[name] == 0 and form[name] != "item":
            seq, when, activity = last[name]
            doc.invalidation(lot[name], activity, when, relation[f"e{seq}.{name}"])
    for p in scenario["documents"]:
        told = [("prov:type", wr[p["kind"]]), ("prov:label", p["id"]), ("wr:sha256", p["sha256"])]
        told += [("wr:issued_on", p["issued_on"])] if "issued_on" in p else []
        doc.entity(paper[p["id"]], [*told, ("wr:about", lot[p["lot"]])])
    return doc


def test_the_whole_scenario_reads_back_as_the_model_of_another_program(full: Store) -> None:
    told = prov_json(full)
    found = read(told)
    assert found == modelled(SCENARIO, book_name(full))
    assert len(told["activity"]) == 20
    again = found.serialize(format="json")
    assert again is not None and json.loads(again) == told  # every relation has kept its own id
    assert pm.ProvDocument.deserialize(content=again, format="json") == found


def test_an_item_alone_holds_what_made_it_and_no_more(full: Store) -> None:
    told = prov_json(full, "STOOL-001")
    ids = {entry["prov:label"] for entry in told["activity"].values()}
    assert ids == {f"E{n:02}" for n in (1, 2, 3, 4, 5, 7, 9, 10, 11, 12, 14, 16, 17, 20)}
    lots = {e["prov:label"] for name, e in told["entity"].items() if name.startswith("lot:")}
    assert not lots & {"L-C", "L-G", "L-H2", "STOOL-002", "LEGS-2"} and {"STOOL-001", "L-B"} <= lots
    # L-J is not used up by it, and what was shipped is still there
    gone = {entry["prov:entity"] for entry in told["wasInvalidatedBy"].values()}
    assert "lot:L-H1" in gone and not gone & {"lot:L-J", "lot:STOOL-001"}
    read(told)


def test_the_schema_of_the_submission_finds_no_error(full: Store, make: Any) -> None:
    jsonschema = pytest.importorskip("jsonschema", reason="pip install -e '.[test]' brings it")
    schema = json.loads((files("prov") / "tests" / "schemas" / "prov-json.schema.json").read_text("utf-8"))
    full.record([repairs.come_back("STOOL-001").event], HAND)
    full.record([make("C1", "correct", corrects="E19", reason="did_not_occur")])
    for item in (None, "STOOL-001", "STOOL-002"):
        found = list(jsonschema.Draft4Validator(schema).iter_errors(prov_json(full, item)))
        assert found == []
    broken = prov_json(full) | {"wasUsedUpBy": {}}
    assert list(jsonschema.Draft4Validator(schema).iter_errors(broken))


def test_a_correction_is_an_activity_that_names_what_it_corrects(full: Store, make: Any) -> None:
    full.record([
        make("C1", "correct", corrects="E13", reason="incorrect_data",
             in_=[("L-H2", 270480), ("L-I", 1085600, "mm2", 4), ("L-K", 271400), ("G-1", 320000, "mg")],
             waste=[("L-I", 3680), ("L-K", 920)]),
    ])  # fmt: skip
    told = prov_json(full, "STOOL-002")
    assert told["wasInformedBy"] == {
        "relation:c21.1": {"prov:informed": "event:C1", "prov:informant": "event:E13"}
    }
    glue = [
        u for u in told["used"].values() if (u["prov:activity"], u["prov:entity"]) == ("event:E13", "lot:G-1")
    ]
    assert [u["wr:quantity"]["$"] for u in glue] == ["320000"]
    assert not [u for u in told["used"].values() if u["prov:activity"] == "event:C1"]
    read(told)


def test_hands_go_out_by_random_ids_alone(full: Store, make: Any) -> None:
    full.record([make("X1", "scrap", in_=[("L-A", 1)])], HAND)
    full.record([make("X2", "scrap", in_=[("L-A", 1)])], "bench hand Mara")
    told = prov_json(full)
    assert set(told["agent"]) == {f"agent:{book_name(full)}", f"agent:{HAND}"}
    by = {(a["prov:activity"], a["prov:agent"]) for a in told["wasAssociatedWith"].values()}
    assert ("event:X1", f"agent:{HAND}") in by
    assert "Mara" not in json.dumps(told)


def test_ids_with_odd_letters_survive(store: Store, make: Any) -> None:
    odd = 'L:1/ü (a) "%b"'
    lots = {odd: {"form": "veneer", "thickness_um": 600, "species": "Betula pendula"}}
    store.record([
        make("R 1", "receive", out=[(odd, 100)], lots=lots),
        make("M:1", "assemble", in_=[(odd, 100)], out=[("T 1", 1, "pcs")]),
    ])  # fmt: skip
    told = prov_json(store, "T 1")
    found = read(told)
    again = found.serialize(format="json")
    assert again is not None and json.loads(again) == told
    assert odd in {entity["prov:label"] for entity in told["entity"].values()}


def secretive(full: Store, make: Any) -> None:
    """Plant what must not get out wherever the book takes words."""
    lots = {"S": {"form": "veneer", "thickness_um": 600, "species": "Betula pendula",
                  "supplier": "Odo Tamsin", "price": "412.50", "currency": "EUR", "grade": "keep quiet",
                  "region": "Marrowgate",
                  "plot": json.dumps({"type": "Point", "coordinates": [-0.1, 51.4779]})}}  # fmt: skip
    papers = [
        {"id": "D-50", "kind": "invoice", "lot": "S", "issuer": "Odo Tamsin", "number": "412.50",
         "tier": "private", "sha256": "ab" * 32, "about": "keep quiet"},
        {"id": "D-51", "kind": "invoice", "lot": "S", "issuer": "Odo Tamsin", "tier": "auditor",
         "sha256": "cd" * 32, "about": "from Odo of the mill"},
    ]  # fmt: skip
    full.record([
        make("S1", "receive", out=[("S", 1000)], lots=lots, documents=papers, note="from Odo Tamsin"),
        make("S2", "assemble-close", in_=[("S", 1000)], out=[("LAMP", 1, "pcs")], value="412.50"),
        make("S3", "ship", in_=[("LAMP", 1, "pcs")], to="9b2f0c1e-1111-4222-8333-444455556666",
             note="for Odo Tamsin"),
    ], "bench hand Mara")  # fmt: skip


def test_nothing_private_goes_out(full: Store, make: Any, catalogue: Catalogue) -> None:
    secretive(full, make)
    names = names_of(catalogue, dt.date(2026, 6, 1))
    out = {
        "prov": json.dumps(prov_json(full, "LAMP")), "whole": json.dumps(prov_json(full)),
        "linked": json.dumps(linked_data(full, "LAMP", names=names)),
        "rows": declaration_rows(full, "LAMP", names).as_csv()
        + json.dumps(declaration_rows(full, "LAMP", names).as_dict()),
    }  # fmt: skip
    for name, text in out.items():
        assert not [word for word in SECRETS if word in text], name
        assert "D-50" not in text and "ab" * 32 not in text and "cd" * 32 not in text, name
    assert "D-51" in out["prov"] and "D-51" in out["linked"]


def test_no_float_goes_out(full: Store) -> None:
    def walk(value: Any) -> None:
        assert not isinstance(value, float)
        if isinstance(value, dict):
            for sub in value.values():
                walk(sub)
        elif isinstance(value, list):
            for sub in value:
                walk(sub)

    for item in ("STOOL-001", "STOOL-002"):
        walk(prov_json(full, item))
        walk(linked_data(full, item))
        walk(declaration_rows(full, item).as_dict())


# --- declaration


def rows_of(found: Declaration) -> list[tuple[str, str, str, str, str]]:
    listed = list(csv.DictReader(io.StringIO(found.as_csv())))
    return [(r["genus"], r["species"], r["country_of_harvest"], r["net_quantity"], r["unit"]) for r in listed]


def test_rows_of_the_first_stool(full: Store) -> None:
    found = declaration_rows(full, "STOOL-001", value="420.00")
    assert rows_of(found) == [
        ("Fagus", "sylvatica", "SI", "0.9504", "kg"), ("Dalbergia", "latifolia", "IN", "0.102", "kg"),
        ("Populus", "x canadensis", "IT", "0.0558", "kg"), ("Betula", "pendula", "FI", "0.768", "kg"),
    ]  # fmt: skip
    assert [row.value for row in found.rows] == ["420.00", None, None, None]
    listed = list(csv.DictReader(io.StringIO(found.as_csv())))
    assert {row["percent_recycled"] for row in listed} == {""}
    assert found.sentences[0] == "4 rows, together 1.8762 kg of wood; glue, dye and finish are not in it."
    assert found.sentences[-1] == CAUTION


def test_rows_of_the_second_stool(full: Store) -> None:
    found = declaration_rows(full, "STOOL-002")
    assert rows_of(found) == [
        ("Fagus", "sylvatica", "SI", "0.9504", "kg"), ("Dalbergia", "latifolia", "IN", "0.034", "kg"),
        ("Dalbergia", "latifolia", "", "0.068", "kg"), ("Populus", "x canadensis", "IT", "0.0558", "kg"),
        ("Betula", "pendula", "FI", "0.768", "kg"),
    ]  # fmt: skip
    assert "The country of harvest is not known of 0.068 kg of Dalbergia latifolia (L-C)." in found.sentences
    assert [row.component for row in found.rows] == ["LEGS-2", "SEAT-2", "SEAT-2", "SEAT-2", "SEAT-2"]
    roles = Keeping(roles=("face=L-H2", "crossband=L-I", "back=L-K", "leg=L-J"))
    full.record([close(full, "STOOL-002", roles)[0].event])
    components = [row.component for row in declaration_rows(full, "STOOL-002").rows]
    assert components == ["leg", "face", "face", "back", "crossband"]


@pytest.mark.parametrize("item", ["STOOL-001", "STOOL-002"])
def test_rows_add_up_to_the_wood_of_the_item(full: Store, item: str) -> None:
    found = declaration_rows(full, item)
    wood = sum((r.wood_ng or Fraction(0) for r in whence(full, item) if not r.used), Fraction(0))
    exact, printed = found.totals["kg"]
    assert sum(row.quantity for row in found.rows) == exact == wood / 10**12
    assert sum(Fraction(row.printed) for row in found.rows) == Fraction(printed)


def test_printed_rows_add_up_where_thirds_are_rounded(store: Store, make: Any) -> None:
    # three lots of one kilogram's third each: 1/3 kg printed to whole mg three times would lack 1 mg
    lots = {
        name: {"form": "veneer", "thickness_um": 1, "species": "Betula pendula", "density_kg_m3": 1,
               "country": country}
        for name, country in (("A", "FI"), ("B", "SE"), ("C", "EE"))
    }  # fmt: skip
    store.record([
        make("R", "receive", out=[(name, 1_000_000) for name in lots], lots=lots),
        make("J", "edge-join", in_=[(name, 1_000_000) for name in lots], out=[("S", 3_000_000)]),
        make("K", "cut", in_=[("S", 1_000_000)], out=[("T", 1_000_000)]),
        make("M", "assemble", in_=[("T", 1_000_000)], out=[("TRAY", 1, "pcs")]),
    ])  # fmt: skip
    found = declaration_rows(store, "TRAY")
    assert [row.quantity for row in found.rows] == [Fraction(1, 3_000_000)] * 3
    assert sorted(row.printed for row in found.rows) == ["0", "0", "0.000001"]
    assert found.totals == {"kg": (Fraction(1, 1_000_000), "0.000001")}


def test_an_engineered_sheet_has_a_row_a_species(store: Store, make: Any) -> None:
    sheet = {
        "form": "engineered-veneer", "thickness_um": 1000, "density_kg_m3": 500, "country": "IT",
        "composition": [
            {"species": "Populus x canadensis", "permille": 600},
            {"species": "Betula pendula", "permille": 250, "countries": ["FI", "SE"]},
        ],
    }  # fmt: skip
    more = sheet | {"wood_share_permille": 930}
    store.record([
        make("R", "receive", out=[("E", 1_000_000), ("F", 1_000_000)], lots={"E": sheet, "F": more}),
        make("M", "assemble", in_=[("E", 1_000_000)], out=[("TRAY", 1, "pcs")]),
        make("N", "assemble", in_=[("F", 1_000_000)], out=[("LAMP", 1, "pcs")]),
    ])  # fmt: skip
    # by hand: 1 m2 of 1 mm at 500 kg/m3 is 0.5 kg; 600 and 250 per mille of it
    found = declaration_rows(store, "TRAY")
    assert rows_of(found) == [
        ("Populus", "x canadensis", "IT", "0.3", "kg"), ("Betula", "pendula", "FI; SE", "0.125", "kg"),
    ]  # fmt: skip
    for item in ("TRAY", "LAMP"):
        wood = sum((r.wood_ng or Fraction(0) for r in whence(store, item)), Fraction(0))
        assert sum(row.quantity for row in declaration_rows(store, item).rows) == wood / 10**12
    # 930 per mille are wood and 850 are named: the rest has a row without a name
    bare = declaration_rows(store, "LAMP")
    assert rows_of(bare)[2] == ("", "", "IT", "0.04", "kg")
    assert any("is nobody knows" in line for line in bare.sentences)
    assert check_book(store).sound


def test_what_may_be_several_woods_is_named_so_and_counted_once(store: Store, make: Any) -> None:
    lots = {
        "A": {"form": "veneer", "thickness_um": 600, "one_of": ["Betula pendula", "Fagus sylvatica"]},
        "B": {"form": "sawn", "genus": "Dalbergia", "trade": "from the attic"},
        "C": {"form": "part", "unit": "mm2", "species": "Betula pendula"},
    }
    store.record([
        make("R", "receive", out=[("A", 1_000_000), ("B", 10**9, "nL"), ("C", 500_000)], lots=lots),
        make("M", "assemble", in_=[("A", 1_000_000), ("B", 10**9, "nL"), ("C", 500_000)],
             out=[("TRAY", 1, "pcs")]),
    ])  # fmt: skip
    found = declaration_rows(store, "TRAY")
    # without a density in the unit of the form: 1 m2 of 0.6 mm is 0.0006 m3, 1 l is 0.001 m3
    assert rows_of(found) == [
        ("Betula or Fagus", "pendula or sylvatica", "", "0.0006", "m3"),
        ("Dalbergia", "spp.", "", "0.001", "m3"),
        ("Betula", "pendula", "", "0.5", "m2"),
    ]  # fmt: skip
    assert found.totals == {"m3": (Fraction(16, 10_000), "0.0016"), "m2": (Fraction(1, 2), "0.5")}
    assert any(line.startswith("A is Betula pendula or Fagus sylvatica") for line in found.sentences)
    assert any(line.startswith("The weight is not known of A, B, C") for line in found.sentences)


@pytest.mark.parametrize("sign", ["=", "+", "-", "@", "\t"])
def test_no_cell_is_taken_for_a_formula(store: Store, make: Any, sign: str) -> None:
    part = f"{sign}cmd|x" if sign.isprintable() else "x"
    lots = {part: {"form": "veneer", "thickness_um": 600, "species": "Betula pendula"}}
    store.record([
        make("R", "receive", out=[(part, 100)], lots=lots),
        make("M", "assemble", in_=[(part, 100)], out=[("T", 1, "pcs")]),
    ])  # fmt: skip
    value = f"{sign}1+1"
    (row,) = csv.DictReader(io.StringIO(declaration_rows(store, "T", value=value).as_csv()))
    assert row["value"] == f"'{value}"
    assert row["component"] == (f"'{part}" if part[:1] in "=+-@" else part)


def test_names_are_written_as_papers_write_them(catalogue: Catalogue) -> None:
    names = names_of(catalogue, dt.date(2026, 6, 1))
    assert names("Populus x canadensis") == plain_name("Populus \u00d7 canadensis")
    assert names("Populus x canadensis") == Written("Populus", "x canadensis")
    # the listing of CITES Appendix II is printed under Bulnesia (data/trade/listings.yaml)
    older = names("Gonopterodendron sarmientoi")
    assert older.printed_species == "sarmientoi (Bulnesia sarmientoi)"
    assert names("Entandrophragma cylindricum").older is None
    assert names("Paubrasilia echinata").older is None
    assert names_of(catalogue, dt.date(2010, 1, 1))("Paubrasilia echinata").older == "Caesalpinia echinata"


def test_an_item_without_wood(store: Store, make: Any) -> None:
    store.record([
        make("R", "receive", out=[("H", 4, "pcs")], lots={"H": {"form": "hardware"}}),
        make("M", "assemble", in_=[("H", 4, "pcs")], out=[("HOOK", 1, "pcs")]),
    ])  # fmt: skip
    assert declaration_rows(store, "HOOK").sentences[0].startswith("No wood is on record in HOOK")
    with pytest.raises(WoodrefError) as told:
        declaration_rows(store, "NOPE")
    assert told.value.exit_code == 3


# --- JSON-LD


def expand(value: Any, context: dict[str, Any], subject: str, out: set[tuple[str, str, str]]) -> None:
    """Triples of a JSON-LD object, by hand: every key by the context, else by @vocab."""

    def iri(word: str) -> str:
        meant = context.get(word, context["@vocab"] + word)
        meant = meant.get("@id", context["@vocab"] + word) if isinstance(meant, dict) else meant
        return meant.replace("schema:", context["schema"]) if meant.startswith("schema:") else meant

    for key, entries in value.items():
        if key in ("@context", "@id"):
            continue
        if key == "@type":
            out.add((subject, "type", iri(entries)))
            continue
        for n, entry in enumerate(entries if isinstance(entries, list) else [entries]):
            if isinstance(entry, dict):
                node = f"{subject}/{key}{n}"
                out.add((subject, iri(key), node))
                expand(entry, context, node, out)
            else:
                out.add((subject, iri(key), str(entry)))


def test_the_context_lies_inside_and_every_key_has_a_meaning(full: Store) -> None:
    told = linked_data(full, "STOOL-002", maker="Quillbeck Benders", url="https://example.org/stool-002")
    context, name = told["@context"], told["@id"]
    assert isinstance(context, dict) and context["@vocab"] == "urn:woodref:terms:"
    triples: set[tuple[str, str, str]] = set()
    expand(told, context, name, triples)
    assert (name, "type", "https://schema.org/Product") in triples
    assert (name, "https://schema.org/productID", "STOOL-002") in triples
    assert (name, "https://schema.org/material", "Dalbergia latifolia") in triples
    assert (f"{name}/parts2", "urn:woodref:terms:lot", "L-C") in triples
    assert (f"{name}/parts2", "urn:woodref:terms:woodMass_g", "68") in triples
    assert (f"{name}/parts2", "urn:woodref:terms:layerArea_mm2", "400000/3") in triples
    assert (f"{name}/parts2", "urn:woodref:terms:proof", "not known") in triples
    assert (name, "urn:woodref:terms:woodMass_g", "1876.2") in triples
    assert {(f"{name}/used0", "urn:woodref:terms:amount_mg", "60000"),
            (f"{name}/used1", "urn:woodref:terms:amount_mg", "460000")} <= triples  # fmt: skip


def test_an_rdf_reader_reads_it_with_nothing_to_fetch(full: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    rdflib = pytest.importorskip("rdflib", reason="pip install -e '.[test]' brings it")
    import socket

    def shut(*_: Any, **__: Any) -> None:
        raise AssertionError("something outside was asked for")

    monkeypatch.setattr(socket, "create_connection", shut)
    told = linked_data(full, "STOOL-002", maker="Quillbeck Benders")
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", DeprecationWarning)  # the reader's own, about its inner classes
        graph = rdflib.Graph().parse(data=json.dumps(told), format="json-ld")
    item = rdflib.URIRef(told["@id"])
    mine, schema = rdflib.Namespace("urn:woodref:terms:"), rdflib.Namespace("https://schema.org/")
    assert (item, rdflib.RDF.type, schema.Product) in graph
    parts = {str(graph.value(part, mine.lot)): part for part in graph.objects(item, mine.parts)}
    assert set(parts) == {"L-A", "L-B", "L-C", "L-D", "L-E"}
    assert str(graph.value(parts["L-C"], mine.mass_g)) == "68"
    assert int(str(graph.value(parts["L-A"], mine.layerArea_mm2))) == 880_000
    assert {str(s) for s in {p for _, p, _ in graph}} <= {
        *(f"urn:woodref:terms:{key}" for key in _keys(told)), *(f"{schema}{key}" for key in _keys(told)),
        str(rdflib.RDF.type),
    }  # fmt: skip


def _keys(value: Any) -> set[str]:
    if isinstance(value, list):
        return {key for sub in value for key in _keys(sub)}
    if not isinstance(value, dict):
        return set()
    return {*value, *(key for sub in value.values() for key in _keys(sub))}


@pytest.mark.parametrize(
    ("value", "says"),
    [(Fraction(34), "34"), (Fraction(9504, 10), "950.4"), (Fraction(1, 3), "1/3"), (Fraction(1, 8), "0.125"),
     (Fraction(-3, 2), "-1.5"), (Fraction(0), "0"), (Fraction(5, 10**12), "0.000000000005")],
)  # fmt: skip
def test_exact_numbers_in_text(value: Fraction, says: str) -> None:
    assert linked.exact(value) == says


def test_what_the_item_keeps_stands_in_it(full: Store) -> None:
    keeping = Keeping(finish="oil and wax", care="Wipe it dry", repairable="yes: the seat comes off",
                      emission="D-06=formaldehyde 0.03 ppm", serial="002")  # fmt: skip
    full.record([d.event for d in close(full, "STOOL-002", keeping, "contains unproven material")])
    told = linked_data(full, "STOOL-002", proof={"L-C": "stated by the workshop"})
    assert (told["finish"], told["care"], told["repairable"], told["repairWords"]) == (
        "oil and wax", "Wipe it dry", True, "the seat comes off",
    )  # fmt: skip
    assert told["emission"] == "Emissions: formaldehyde 0.03 ppm, by the emission report D-06 on L-D."
    assert told["label"] == "contains unproven material" and told["serialNumber"] == "002"
    assert {p["lot"]: p["proof"] for p in told["parts"]}["L-C"] == "stated by the workshop"


# --- the moment


def test_a_moment_sees_nothing_that_came_later(full: Store, make: Any) -> None:
    full.record([close(full, "STOOL-002", Keeping(care="Wipe it dry"))[0].event],
                recorded=moment("2999-01-01T00:00:00Z"))  # fmt: skip
    before = moment("2998-12-31T00:00:00Z")
    for item in ("STOOL-001", "STOOL-002"):
        then, now = linked_data(full, item, before), linked_data(full, item)
        assert then["bookEvents"] == 20 and now["bookEvents"] == 21
        assert "care" not in then and then["state"] == {"STOOL-001": "shipped", "STOOL-002": "open"}[item]
        assert then["parts"] == now["parts"]
        assert rows_of(declaration_rows(full, item, at=before)) == rows_of(declaration_rows(full, item))
    assert linked_data(full, "STOOL-002")["care"] == "Wipe it dry"


def test_the_book_worked_out_anew_says_what_the_tables_say(full: Store, make: Any) -> None:
    full.record([
        make("T1", "return", item="STOOL-001"),
        make("T2", "repair", time="2025-11-03T11:00:00+01:00", item="STOOL-001", in_=[("L-G", 1000)]),
        make("T3", "attach-document", document={"id": "D-60", "kind": "invoice", "lot": "L-C"}),
        make("T4", "correct", corrects="E17", reason="incorrect_data",
             in_=[("SEAT-1", 200000), ("LEGS-1", 88000), ("F-1", 65000, "mg")]),
    ], HAND)  # fmt: skip
    now = {
        i: (prov_json(full, i), linked_data(full, i or "STOOL-001")) for i in (None, "STOOL-001", "STOOL-002")
    }
    at = moment("2998-12-31T00:00:00Z")
    full.record([make("Z", "repair", item="STOOL-001", time="2025-11-05T11:00:00+01:00", in_=[("L-G", 1)])],
                recorded=moment("2999-01-01T00:00:00Z"))  # fmt: skip
    for item, (was, linked_was) in now.items():
        assert prov_json(full, item, at) == was
        again = linked_data(full, item or "STOOL-001", at)
        assert again | {"asOf": 0} == linked_was | {"asOf": 0}
    assert prov_json(full, "STOOL-001") != now["STOOL-001"][0]
    with pytest.raises(WoodrefError):
        linked_data(full, "STOOL-001", moment("2001-01-01T00:00:00Z"))
