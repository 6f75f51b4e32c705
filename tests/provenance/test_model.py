"""Random days at the bench against a small model in Fractions: whatever is received, cut, sanded, pressed,
scrapped, reserved, written twice, asked too much of or taken back, the book says what the model says."""

from __future__ import annotations

import copy
import tempfile
from collections.abc import Callable
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    invariant,
    precondition,
    rule,
    run_state_machine_as_test,
)

from woodref.errors import WoodrefError
from woodref.provenance.shapes import Event, event_of
from woodref.provenance.store import Store
from woodref.provenance.tables import BookTable
from woodref.provenance.trace import went_into, whence
from woodref.provenance.verify import check_book

Mix = dict[str, Fraction]
PICK = st.integers(0, 10**6)


def mm2(lot: str, qty: int, plies: int = 1) -> dict[str, Any]:
    return {"lot": lot, "qty": qty, "unit": "mm2", "plies": plies}


class Model:
    """What is on hand, reserved and in one mm2 of each lot; what of each root is gone for good."""

    def __init__(self) -> None:
        self.qty: dict[str, int] = {}
        self.held: dict[str, int] = {}
        self.mix: dict[str, Mix] = {}
        self.thick: dict[str, int] = {}
        self.gone: Mix = {}

    def take(self, lot: str, qty: int, wasted: int = 0) -> None:
        self.qty[lot] -= qty
        for root, part in self.mix[lot].items():
            self.gone[root] = self.gone.get(root, Fraction(0)) + wasted * part

    def add(self, lot: str, qty: int, mix: Mix, thick: int) -> None:
        self.qty[lot], self.mix[lot], self.thick[lot] = qty, mix, thick

    def free(self, lot: str) -> int:
        return self.qty[lot] - self.held.get(lot, 0)


class Bench(RuleBasedStateMachine):
    """The book on disk, or at an address on a server, beside the model."""

    def __init__(self, address: str | None = None) -> None:
        super().__init__()
        self.address = address

    @initialize()
    def opened(self) -> None:
        self.folder = tempfile.TemporaryDirectory()
        self.store = Store(self.address or f"sqlite:///{Path(self.folder.name) / 'book.sqlite'}")
        self.model, self.number, self.received = Model(), 0, dict[str, int]()
        self.told: list[Event] = []
        #: the last event that moved wood, with the model before it
        self.before: tuple[Event, Model] | None = None

    def teardown(self) -> None:
        if hasattr(self, "store"):
            assert check_book(self.store).sound
            if self.address:
                BookTable.metadata.drop_all(self.store.engine)
            self.store.close()
            self.folder.cleanup()

    # --- helpers

    def event(self, kind: str, **told: Any) -> Event:
        self.number += 1
        when = f"2026-01-{1 + self.number // 1440:02}T{self.number // 60 % 24:02}:{self.number % 60:02}:00Z"
        return event_of({"id": f"E{self.number}", "kind": kind, "time": when, **told})

    def put(self, event: Event, change: Callable[[Model], None]) -> None:
        before = copy.deepcopy(self.model)
        self.store.record([event])
        self.told.append(event)
        change(self.model)
        self.before = (event, before)

    def some(self, pick: int, least: int = 1) -> str | None:
        having = [lot for lot in self.model.qty if self.model.free(lot) >= least]
        return having[pick % len(having)] if having else None

    # --- what a day brings

    @rule(qty=st.integers(1, 10**7), thick=st.sampled_from([600, 900]))
    def receive(self, qty: int, thick: int) -> None:
        lot = f"R{self.number + 1}"
        facts = {"form": "veneer", "thickness_um": thick, "species": "Fagus sylvatica"}
        event = self.event("receive", out=[mm2(lot, qty)], lots={lot: facts})

        def change(model: Model) -> None:
            model.add(lot, qty, {lot: Fraction(1)}, thick)

        self.put(event, change)
        self.received[lot] = qty

    @rule(pick=PICK, asked=PICK, left=PICK)
    def cut(self, pick: int, asked: int, left: int) -> None:
        source = self.some(pick)
        if source is None or self.model.thick[source] == 0:
            return
        qty = 1 + asked % self.model.free(source)
        wasted = left % qty
        lot = f"C{self.number + 1}"
        waste = {"waste": [mm2(source, wasted)]} if wasted else {}
        event = self.event("cut", **{"in": [mm2(source, qty)], "out": [mm2(lot, qty - wasted)], **waste})

        def change(model: Model) -> None:
            model.take(source, qty, wasted)
            model.add(lot, qty - wasted, model.mix[source], model.thick[source])

        self.put(event, change)

    @rule(pick=PICK, asked=PICK)
    def sand(self, pick: int, asked: int) -> None:
        source = self.some(pick)
        if source is None or self.model.thick[source] < 200:
            return
        qty, thick = 1 + asked % self.model.free(source), self.model.thick[source] - 100
        lot = f"S{self.number + 1}"
        event = self.event(
            "sand", **{"in": [mm2(source, qty)], "out": [mm2(lot, qty)]},
            lots={lot: {"thickness_um": thick}},
        )  # fmt: skip

        def change(model: Model) -> None:
            model.take(source, qty)
            model.add(lot, qty, model.mix[source], thick)

        self.put(event, change)

    @rule(one=PICK, two=PICK, plan=st.integers(1, 5000), plies=st.integers(1, 3), over=st.integers(0, 50))
    def press(self, one: int, two: int, plan: int, plies: int, over: int) -> None:
        first, second = self.some(one, 3 * 5000 + 50), self.some(two, 5000)
        if first is None or second is None or first == second:
            return
        lot, used = f"P{self.number + 1}", plies * plan + over
        waste = {"waste": [mm2(first, over)]} if over else {}
        event = self.event(
            "laminate",
            **{"in": [mm2(first, used, plies), mm2(second, plan)], "out": [mm2(lot, plan)], **waste},
            lots={lot: {"form": "panel"}},
        )

        def change(model: Model) -> None:
            model.take(first, used, over)
            model.take(second, plan)
            mix = {root: plies * part for root, part in model.mix[first].items()}
            for root, part in model.mix[second].items():
                mix[root] = mix.get(root, Fraction(0)) + part
            model.add(lot, plan, mix, 0)

        self.put(event, change)

    @rule(pick=PICK, asked=PICK)
    def scrap(self, pick: int, asked: int) -> None:
        lot = self.some(pick)
        if lot is None:
            return
        qty = 1 + asked % self.model.free(lot)
        self.put(self.event("scrap", **{"in": [mm2(lot, qty)]}), lambda model: model.take(lot, qty, qty))

    @rule(pick=PICK, asked=PICK)
    def reserve(self, pick: int, asked: int) -> None:
        lot = self.some(pick)
        if lot is None:
            return
        qty = 1 + asked % self.model.free(lot)
        self.store.record([self.event("reserve", lot=lot, qty=qty)])
        self.model.held[lot] = self.model.held.get(lot, 0) + qty
        self.before = None

    # --- what must change nothing

    @rule(pick=PICK, more=st.integers(1, 10**6))
    def too_much(self, pick: int, more: int) -> None:
        lot = self.some(pick)
        if lot is None:
            return
        head = self.store.head()
        with pytest.raises(WoodrefError) as told:
            self.store.record([self.event("scrap", **{"in": [mm2(lot, self.model.free(lot) + more)]})])
        assert lot in str(told.value) and self.store.head() == head

    @precondition(lambda self: self.told)
    @rule(pick=PICK)
    def written_twice(self, pick: int) -> None:
        head = self.store.head()
        (again,) = self.store.record([self.told[pick % len(self.told)]])
        assert again.again and self.store.head() == head

    @precondition(lambda self: self.before is not None)
    @rule()
    def taken_back(self) -> None:
        assert self.before is not None
        event, before = self.before
        self.store.record([self.event("correct", corrects=event.id, reason="did_not_occur")])
        made = {share.lot for share in event.out}
        self.model, self.before = before, None
        self.told.remove(event)
        for lot in made:
            self.received.pop(lot, None)

    # --- what must hold

    @invariant()
    def balances(self) -> None:
        for lot, qty in self.model.qty.items():
            assert self.store.balance(lot) == qty

    @invariant()
    def contents(self) -> None:
        for lot, mix in list(self.model.mix.items())[-3:]:
            assert {root.held.lot.id: root.net for root in whence(self.store, lot)} == mix
            for root in mix.keys() - {lot}:
                assert lot in {held.lot.id for held in went_into(self.store, root)}

    @invariant()
    def nothing_lost(self) -> None:
        """What came in of a root is on hand, in something made of it, or gone."""
        for root, qty in self.received.items():
            held = sum(
                self.model.qty[lot] * mix.get(root, Fraction(0)) for lot, mix in self.model.mix.items()
            )
            assert held + self.model.gone.get(root, Fraction(0)) == qty


def bounds(examples: int) -> settings:
    return settings(
        max_examples=examples, stateful_step_count=25, deadline=None, derandomize=True,
        suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much],
    )  # fmt: skip


TestBench = Bench.TestCase
TestBench.settings = bounds(40)


def test_the_same_days_on_postgresql(postgres_url: str) -> None:
    run_state_machine_as_test(lambda: Bench(postgres_url), settings=bounds(8))  # type: ignore[no-untyped-call]
