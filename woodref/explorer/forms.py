"""Reading a form: each field by the function of the command, each fault at its field, nothing typed lost."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING, Any, TypeVar

from woodref.errors import BadRequest, SharedName, WoodrefError, echo
from woodref.explorer.asking import Ask
from woodref.explorer.formwords import FormWords
from woodref.explorer.page import ASK_AGAIN, BAD_REQUEST, NOT_FOUND

if TYPE_CHECKING:
    from woodref.catalogue.names import Matched

T = TypeVar("T")


@dataclass
class Form:
    """One form as it was sent. faults: told at their fields in ask.wrong; meant: field -> what a name may
    have stood for, each with the link that asks again with it."""

    ask: Ask
    words: FormWords
    faults: list[WoodrefError] = field(default_factory=list)
    meant: dict[str, list[dict[str, str]]] = field(default_factory=dict)

    def at(self, name: str, fault: WoodrefError) -> None:
        """Tell a fault at a field, with a link for each thing that was perhaps meant."""
        self.faults.append(fault)
        self.words.tell(self.ask, fault, name)
        self.meant.setdefault(
            name,
            [
                {"name": c.name, "says": c.says, "href": self.ask.link(**{name: c.id or c.name}) + "#answer"}
                for c in fault.candidates
            ],
        )

    def placed(self, fault: WoodrefError, usual: str) -> None:
        """Tell a fault at the field whose option it names."""
        self.at(self.words.place(fault, usual), fault)

    def read(self, name: str, reader: Callable[[], T]) -> T | None:
        """What the reader makes of a field; None, and the fault at the field, when it cannot."""
        try:
            return reader()
        except WoodrefError as fault:
            self.at(name, fault)
            return None

    def wood(self, name: str, region: str | None = None) -> Matched | None:
        """The wood a field names; None where it is empty or names none."""
        from woodref.catalogue.names import resolve

        text = self.ask.one(name)
        if not text:
            return None
        return self.read(name, lambda: resolve(text, self.ask.catalogue, self.ask.shop.today, region))

    def country(self, name: str) -> str | None:
        """The code of a country given by code or by name, else what was typed; None where it is empty."""
        text = self.ask.one(name)
        if not text:
            return None
        return self.code(text)

    def region(self) -> str | None:
        """The code of the country whose trade names are meant; what is no country is told at the field."""
        found = self.country("region")
        if found is None or found in self.ask.catalogue.countries:
            return found
        self.at(
            "region", BadRequest(f"{echo(found)} is not a country", expected="its name or code, such as US")
        )
        return None

    def code(self, text: str) -> str:
        """The code of a country's name or code, else the text."""
        return self._codes.get(text.casefold(), text)

    @cached_property
    def _codes(self) -> dict[str, str]:
        held = self.ask.catalogue.countries
        return {said.casefold(): code for code, name in held.items() for said in (name, code)}

    @property
    def status(self) -> int:
        """400 for fields that cannot be read; 404 and 300 where all that is wrong is an unknown or a shared
        name."""
        if not self.ask.wrong:
            return 200
        if len(self.ask.wrong) == len(self.faults) == 1:
            if isinstance(self.faults[0], SharedName):
                return ASK_AGAIN
            if self.faults[0].exit_code == 3:
                return NOT_FOUND
        return BAD_REQUEST

    @property
    def error(self) -> dict[str, Any]:
        """The first fault as the JSON of the command."""
        fault = self.faults[0] if self.faults else BadRequest(next(iter(self.ask.wrong.values())))
        return {"error": fault.as_dict()}

    def filled(self, *names: str) -> bool:
        """Whether one of these fields was filled or is wrong: its group stands open."""
        return any(self.ask.one(name) or name in self.ask.wrong for name in names)

    def values(self) -> dict[str, Any]:
        """What the templates of forms need beside their own."""
        return {
            "form": self, "meant": self.meant, "form_page": True, "say": self.words.linked,
            "countries": list(self.ask.catalogue.countries.items()),
        }  # fmt: skip

    def hidden(self, *but: str) -> list[tuple[str, str]]:
        """Every filled field but these, for a second form that asks the same with one thing more."""
        return [
            (name, value)
            for name, values in self.ask.fields.items()
            if name not in but
            for value in values
            if value
        ]


def choices(words: Sequence[tuple[str, str]], none: str = "") -> list[tuple[str, str]]:
    """The choices of a field after one that asks for nothing."""
    return [("", none), *words]


def said(word: str) -> str:
    """'block-sliced' -> 'block sliced': a word of the data as it is read."""
    return word.replace("-", " ").replace("_", " ")
