"""The shape of data/trade/evidence.yaml: what a maker's record has to carry of each wood, by destination.

A docstring below a field says what it means, as in `figureschema`.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from woodref.catalogue.figureschema import Cited, Day, Slug, Words
from woodref.catalogue.listingschema import Dated


class RequirementIn(Cited):
    """One thing that the record has to carry of each received lot of wood."""

    key: Literal[
        "NAME", "ACQUISITION", "PERMIT", "DOCUMENT", "COUNTRY", "COMPOSITION", "EUDR-REF", "QUANTITY",
        "VALUE",
    ]  # fmt: skip
    """What is wanting where it is not there. Of two rows of one key the first that finds a gap is told, so
    rows of law stand before those of the shop."""
    test: Literal[
        "name", "names", "document", "country", "composition", "reference", "placing", "quantity", "value",
        "acquired", "papers",
    ]  # fmt: skip
    """The question asked of the lot. name: one species; names: every species it may be; document: a paper
    of its purchase by someone else; country: where it grew; composition: the composition sheet of an
    engineered sheet; reference: the number of its first placing; placing: that number, or plot and felling
    date with which one can be had; quantity: its mass; value: the price of the item; acquired: how a listed
    wood was come by; papers: those that the listings ask for on the way."""
    law: Slug | None = None
    """Code of a law in other_laws.yaml: asked only where that law reaches the goods, their form, felling
    and day. Left out: always asked."""
    when: Literal["import", "sale", "export"] | None = None
    """Asked only on the way into, inside or out of the destination; left out: on each."""
    words: Words
    """The rule in a sentence."""
    closes: Words
    """What would close the gap, after "It takes"."""
    citation: Words | None = None
    """The place in the law; left out for a rule of the shop."""


class EvidenceSetIn(Dated):
    """What is asked for one destination over one period. Two sets of a destination never stand on one
    day."""

    id: Slug
    """Destination and year."""
    destination: Literal["home", "EU", "GB", "US", "export"]
    """home: what the shop asks before it calls a wood proven; EU, GB, US: to be sold there; export: a
    listed wood over any border."""
    followed_to: Day | None = None
    """The day up to which the law behind the set was followed; a year after it the set is out of date.
    Left out for a rule of the shop."""
    mixing: Literal["share", "whole"] = "share"
    """share: of a mixed line the share that lacks nothing is told; whole: one lot that lacks something
    makes the whole line unproven."""
    words: Words
    """The set in a sentence."""
    asks: Annotated[list[RequirementIn], Field(min_length=1)]
    """What is asked, rows of law first."""
