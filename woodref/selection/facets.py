"""Words by which woods can be sorted into heaps: what each heap is called and how many woods lie in it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass

from woodref.catalogue.material import KINDS, Material
from woodref.catalogue.reader import Catalogue
from woodref.errors import BadRequest, echo
from woodref.selection.words import PORE_WORDS, SOLD_WORDS

KIND_WORDS = {
    "species": "woods as they grew",
    "engineered": "engineered veneers",
    "modified": "woods changed by heat, resin or fumes",
    "core": "boards for the middle",
}
RED_LIST_WORDS = {
    "LC": "LC, least concern", "NT": "NT, near threatened", "VU": "VU, vulnerable", "EN": "EN, endangered",
    "CR": "CR, critically endangered", "DD": "DD, too little data", "NE": "NE, not evaluated",
    "unknown": "not known",
}  # fmt: skip
PLANTED_WORDS = {"yes": "yes", "some": "here and there", "no": "not to speak of", "unknown": "not known"}
TEXTURE_WORDS = {"fine": "fine", "medium": "medium", "coarse": "coarse", "unknown": "not known"}


@dataclass(frozen=True)
class Facet:
    """asks: what the heaps differ in; of: the word of a wood; words: word -> what it is called, in order."""

    asks: str
    of: Callable[[Material], str]
    words: Mapping[str, str]


@dataclass(frozen=True)
class Heap:
    """One word of a facet: what it is called, how many woods have it, whether it alone is asked for."""

    word: str
    says: str
    count: int
    chosen: bool

    def as_dict(self) -> dict[str, object]:
        return {"word": self.word, "says": self.says, "count": self.count, "chosen": self.chosen}


@dataclass(frozen=True)
class Heaps:
    """A facet counted over some woods."""

    name: str
    asks: str
    heaps: tuple[Heap, ...]

    def as_dict(self) -> dict[str, object]:
        return {"name": self.name, "asks": self.asks, "heaps": [heap.as_dict() for heap in self.heaps]}


def facets(catalogue: Catalogue) -> dict[str, Facet]:
    """Every facet by name."""
    colours = {c.id: c.words for c in catalogue.colour_classes.values()}
    unknown = {"unknown": "not known"}
    return {
        "kind": Facet("kind", lambda m: m.kind, {kind: KIND_WORDS[kind] for kind in KINDS}),
        "colour": Facet("colour", lambda m: str(m.look["class"]), colours),
        "planted": Facet(
            "planted for timber", lambda m: str(m.grows["plantation"]["grown"]), PLANTED_WORDS
        ),
        "pores": Facet("pores", lambda m: str(m.look["pores"]), PORE_WORDS | unknown),
        "texture": Facet("texture", lambda m: str(m.look["texture"]), TEXTURE_WORDS),
        "sold": Facet("how it is sold", lambda m: str(m.veneer["sold"]), SOLD_WORDS),
        "red_list": Facet(
            "IUCN Red List (no bar)", lambda m: str(m.red_list["category"]), RED_LIST_WORDS
        ),
    }  # fmt: skip


def only(texts: Iterable[str], catalogue: Catalogue) -> dict[str, str]:
    """'pores=ring' and the like -> facet to word; BadRequest names what is accepted. The kind is asked by a
    question of its own."""
    known = {name: facet for name, facet in facets(catalogue).items() if name != "kind"}
    out: dict[str, str] = {}
    for text in texts:
        name, sign, word = (part.strip() for part in text.partition("="))
        name = name.replace("-", "_")
        if not sign or name not in known:
            raise BadRequest(
                f"{echo(text)} names nothing to sort woods by",
                expected=f"one of {', '.join(known)} with a word, such as pores=ring",
            )
        if word not in known[name].words:
            raise BadRequest(
                f"{echo(word)} is no word for {name}", expected=f"one of {', '.join(known[name].words)}"
            )
        if out.get(name, word) != word:
            raise BadRequest(
                f"no wood is both {name}={out[name]} and {name}={word}", next="Ask for one of them."
            )
        out[name] = word
    return out


def counted(
    materials: Iterable[Material], catalogue: Catalogue, chosen: Mapping[str, str]
) -> tuple[Heaps, ...]:
    """Heaps of these woods, empty ones left out. chosen: facet -> the word asked for alone, which stays even
    when no wood has it, so that it can be dropped again."""
    woods = list(materials)
    out = []
    for name, facet in facets(catalogue).items():
        counts = dict.fromkeys(facet.words, 0)
        for material in woods:
            counts[facet.of(material)] += 1
        heaps = tuple(
            Heap(word, facet.words[word], count, chosen.get(name) == word)
            for word, count in counts.items()
            if count or chosen.get(name) == word
        )
        out.append(Heaps(name, facet.asks, heaps))
    return tuple(out)
