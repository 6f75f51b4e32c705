"""Checks that need more than one field or file: sources, names, plausibility, rules worked anew."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache

from pydantic import BaseModel

from woodref.catalogue import rules, schema
from woodref.catalogue.dataset import LISTS, DataSet, Loaded, Path_
from woodref.catalogue.evidencecheck import evidence_sets
from woodref.catalogue.findings import Finding
from woodref.catalogue.fold import fold
from woodref.catalogue.plausible import plausible
from woodref.catalogue.properties import PROPERTIES


def cross_check(data: DataSet) -> None:
    """Append the findings of every cross-check to data.findings."""
    for check in (_sources, _names, _glue_names, _shared, _retired, _places, _classes, _made_from, _figures,
                  evidence_sets, plausible):  # fmt: skip
        data.findings += list(check(data))


@cache
def _keys(kind: type[BaseModel]) -> tuple[tuple[str, str], ...]:
    """Each field of a shape with its key in the file."""
    return tuple((name, info.alias or name) for name, info in kind.model_fields.items())


def _cited(model: BaseModel, path: Path_ = ()) -> Iterator[tuple[Path_, schema.Cited]]:
    """Every Cited block inside a model with its path in the file."""
    if isinstance(model, schema.Cited):
        yield path, model
    for name, key in _keys(type(model)):
        value = getattr(model, name)
        if value is None or isinstance(value, str | float):
            continue
        if isinstance(value, BaseModel):
            yield from _cited(value, (*path, key))
        elif isinstance(value, list):
            for index, item in enumerate(value):
                if isinstance(item, BaseModel):
                    yield from _cited(item, (*path, key, index))
        elif isinstance(value, dict):
            for sub, items in value.items():
                for index, item in enumerate(items if isinstance(items, list) else ()):
                    if isinstance(item, BaseModel):
                        yield from _cited(item, (*path, key, sub, index))


def _everything(data: DataSet) -> Iterator[tuple[Loaded, Path_, schema.Cited]]:
    for loaded in (*data.materials.values(), *data.adhesives.values()):
        for path, block in _cited(loaded.model):
            yield loaded, path, block
    for file, rows in data.lists.items():
        key = LISTS[file][0]
        for loaded, index, model in rows:
            for path, block in _cited(model):
                yield loaded, (key, index, *path), block


def _sources(data: DataSet) -> Iterator[Finding]:
    if "sources.yaml" not in data.lists:  # unreadable: told once, not held against every figure
        return
    kinds = {s.id: s.kind for s in data.entries("sources.yaml")}
    for loaded, path, block in _everything(data):
        if block.source is None:
            continue
        kind = kinds.get(block.source)
        if kind is None:
            yield loaded.finding((*path, "source"), f'no source "{block.source}" stands in data/sources.yaml')
        elif (kind == "rule") != (block.evidence == "estimated"):
            yield loaded.finding(
                (*path, "source"),
                f"a rule is cited by estimated figures and by nothing else (evidence here: {block.evidence})",
            )


def _names(data: DataSet) -> Iterator[Finding]:
    shared = {fold(s.text) for s in data.entries("names.yaml")}
    held: dict[str, tuple[str, str]] = {}
    for loaded in data.materials.values():
        model = loaded.model
        own: set[tuple[str, str]] = set()
        places: list[tuple[Path_, str]] = [(("id",), model.id.replace("-", " "))]
        if model.botanical:
            places.append((("botanical", "name"), model.botanical.name))
            places += [
                (("botanical", "synonyms", i), text) for i, text in enumerate(model.botanical.synonyms)
            ]
        places += [(("names", i, "text"), name.text) for i, name in enumerate(model.names)]
        for path, text in places:
            key = fold(text)
            if path[0] == "names":
                lang = model.names[int(path[1])].lang
                if (key, lang) in own:
                    yield loaded.finding(path, f'"{text}" stands here twice', "warning")
                own.add((key, lang))
            other = held.setdefault(key, (model.id, text))
            if other[0] != model.id and key not in shared:
                yield loaded.finding(
                    path,
                    f'"{text}" is also a name of {other[0]}: if both are right, write it into '
                    "data/names.yaml with how the woods differ",
                )


def _glue_names(data: DataSet) -> Iterator[Finding]:
    """A glue is asked for like a wood: nothing else may go by its id or one of its names."""
    held: dict[str, str] = {}
    for loaded in data.materials.values():
        model = loaded.model
        latin = [model.botanical.name, *model.botanical.synonyms] if model.botanical else []
        for text in (model.id.replace("-", " "), *model.was, *latin, *(name.text for name in model.names)):
            held.setdefault(fold(text), model.id)
    held |= {fold(entry.text): "data/names.yaml" for entry in data.entries("names.yaml")}
    for loaded in data.adhesives.values():
        glue = loaded.model
        places: list[tuple[Path_, str]] = [(("id",), glue.id.replace("-", " "))]
        places += [(("names", index, "text"), name.text) for index, name in enumerate(glue.names)]
        for path, text in places:
            other = held.setdefault(fold(text), glue.id)
            if other != glue.id:
                yield loaded.finding(path, f'"{text}" is also a name of {other}: a glue needs one of its own')


def _shared(data: DataSet) -> Iterator[Finding]:
    for loaded, index, entry in data.lists.get("names.yaml", []):
        usual: dict[str, int] = {}
        for number, meaning in enumerate(entry.meanings):
            path: Path_ = ("names", index, "meanings", number)
            if meaning.material and not data.has(meaning.material):
                yield loaded.finding(path, f'there is no material "{meaning.material}"')
            for region in meaning.usual_in:
                if region in usual:
                    yield loaded.finding(path, f"two meanings are usual in {region}")
                usual[region] = number


def _retired(data: DataSet) -> Iterator[Finding]:
    seen: dict[str, str] = {}
    for loaded in data.materials.values():
        for index, old in enumerate(loaded.model.was):
            if old in data.materials:
                yield loaded.finding(("was", index), f'"{old}" is the id of a living material')
            if old in seen:
                yield loaded.finding(("was", index), f'"{old}" already answers for {seen[old]}')
            seen[old] = loaded.model.id


def _places(data: DataSet) -> Iterator[Finding]:
    document = data.documents.get("trade/countries.yaml")
    if document is None:
        return
    known = set(document.model.countries)
    groups = {g.id for g in data.entries("trade/places.yaml")}
    for loaded in data.materials.values():
        grows = loaded.model.grows
        for path, codes in (
            (("grows", "countries"), grows.countries),
            (("grows", "plantation", "countries"), grows.plantation.countries),
        ):
            for index, code in enumerate(codes):
                if code not in known:
                    yield loaded.finding((*path, index), f"{code} is not an ISO 3166-1 code")
            if codes != sorted(set(codes)):
                yield loaded.finding(path, "write the codes in alphabetical order, each once")
        lost = set(grows.plantation.countries) - set(grows.countries)
        if lost:
            yield loaded.finding(
                ("grows", "countries"),
                f"planted in {', '.join(sorted(lost))} but not listed as a country of harvest",
            )
        for index, name in enumerate(loaded.model.names):
            for code in name.regions:
                if code not in known:
                    yield loaded.finding(("names", index, "regions"), f"{code} is not an ISO 3166-1 code")
    for loaded, index, entry in data.lists.get("names.yaml", []):
        for number, meaning in enumerate(entry.meanings):
            for code in meaning.usual_in:
                if code != "*" and code not in known:
                    where: Path_ = ("names", index, "meanings", number, "usual_in")
                    yield loaded.finding(where, f"{code} is not an ISO 3166-1 code")
    for loaded, index, group in data.lists.get("trade/places.yaml", []):
        for code in group.countries:
            if code not in known:
                yield loaded.finding(("places", index, "countries"), f"{code} is not an ISO code")
    for loaded, index, row in data.lists.get("trade/listings.yaml", []):
        place: Path_ = ("listings", index, "population", "countries")
        reach = row.population.countries
        if isinstance(reach, str) and reach != "all" and reach not in groups:
            yield loaded.finding(place, f'no group "{reach}" stands in data/trade/places.yaml')
        if isinstance(reach, list):
            for code in reach:
                if code not in known:
                    yield loaded.finding(place, f"{code} is not an ISO 3166-1 code")


def _classes(data: DataSet) -> Iterator[Finding]:
    document = data.documents.get("classes.yaml")
    if document is None:
        return
    classes = {c.id: c for c in document.model.colours}
    for index, colour in enumerate(document.model.colours):
        for other in colour.near:
            if other not in classes:
                yield document.finding(("colours", index, "near"), f'no class "{other}"')
            elif colour.id not in classes[other].near:
                yield document.finding(
                    ("colours", index, "near"), f'"{other}" does not name "{colour.id}" in return'
                )
    for loaded in data.materials.values():
        look = loaded.model.look
        for path, name in (
            (("look", "class"), look.class_),
            *((("look", "also"), a) for a in look.also),
        ):
            if name not in classes:
                yield loaded.finding(path, f'no colour class "{name}"; known: {", ".join(classes)}')
        if look.class_ in look.also:
            yield loaded.finding(("look", "also"), f'"{look.class_}" is the main class already')


def _made_from(data: DataSet) -> Iterator[Finding]:
    for loaded in data.materials.values():
        made = loaded.model.made_from
        if made is None:
            continue
        for wood in (made.base, *made.woods, *made.look_of):
            if wood in data.broken:
                continue
            held = data.materials.get(wood)
            if held is None or held.model.kind != "species":
                yield loaded.finding(("made_from",), f'"{wood}" is not a species of the catalogue')
        if made.base not in made.woods:
            yield loaded.finding(("made_from", "woods"), f"the base {made.base} is missing here")


def _figures(data: DataSet) -> Iterator[Finding]:
    for loaded in data.materials.values():
        yield from _estimates(data, loaded)


def _estimates(data: DataSet, loaded: Loaded) -> Iterator[Finding]:
    """Every estimated figure names what it rests on and comes out the same when worked anew."""
    sources = {s.id for s in data.entries("sources.yaml")}
    unread = "sources.yaml" not in data.lists

    def known(ref: str) -> bool:
        material, _, of_it = ref.partition(".")
        return (
            ref in PROPERTIES
            or unread
            or ref.partition(":")[0] in sources
            or (data.has(material) and of_it in PROPERTIES)
        )

    for name, figures in loaded.model.figures.items():
        for index, figure in enumerate(figures):
            if figure.evidence != "estimated":
                continue
            path: Path_ = ("figures", name, index)
            for number, ref in enumerate(figure.from_ or []):
                if not known(ref):
                    yield loaded.finding(
                        (*path, "from", number),
                        f'"{ref}" is neither a property, nor material.property, nor source: place',
                    )
            says = rules.disagreement(data, loaded.model, name, figure)
            if says:
                yield loaded.finding(path, says)
