"""Sentences of the results at a form: where they name an option of the command line, the form's own field is
meant. The sentence itself is not worded again."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING
from urllib.parse import quote

if TYPE_CHECKING:
    from markupsafe import Markup

    from woodref.errors import WoodrefError
    from woodref.explorer.asking import Ask

#: an option, with the placeholder that may follow it
_OPTION = re.compile(
    r"(?<![\w-])(--[a-z]+(?:-[a-z]+)*)(?: (?:CC|PROPERTY=VALUE|[a-z_]+=VALUE|FILE))?(?![\w-])"
)
#: commands as sentences name them -> (what is said on a page, path of that page)
_COMMANDS: tuple[tuple[re.Pattern[str], str, str], ...] = (
    (re.compile(r'`?woodref substitute "([^"]+)"`?'), "a stand-in for {}", "/instead?of={}"),
    (re.compile(r"`?woodref show \"?([^`\".]+)\"?`?"), "the page of {}", "/wood/{}"),
    (re.compile(r"woodref find --kind glue()"), "the glues", "/search?q=glue"),
    (re.compile(r"woodref trade()(?= |\.|$)"), "the papers of a journey", "/trade"),
)
#: a way that a page has otherwise
_LEFT_OUT = re.compile(r" ?See: woodref trade --help\.?")


@dataclass(frozen=True)
class FormWords:
    """fields: option -> (field, its label); phrases: words of the command line -> (words of the form, field
    that they lead to)."""

    fields: Mapping[str, tuple[str, str]]
    phrases: Mapping[str, tuple[str, str]] = field(default_factory=dict)

    def plain(self, text: str) -> str:
        """A sentence without links: options as the labels of their fields, in quotes."""
        return self._turned(text, lambda words, _: words, str)

    def linked(self, text: str) -> Markup:
        """The sentence with a link to each field and page that it names."""
        from markupsafe import Markup, escape

        def link(words: str, href: str) -> str:
            return str(Markup('<a href="{}">{}</a>').format(href, words))

        return Markup(self._turned(text, link, lambda part: str(escape(part))))  # noqa: S704 - escaped by parts

    def _turned(self, text: str, link: Callable[[str, str], str], rest: Callable[[str], str]) -> str:
        text = _LEFT_OUT.sub("", text)
        spans: list[tuple[int, int, str]] = []
        for phrase, (words, name) in self.phrases.items():
            spans += [
                (m.start(), m.end(), link(words, f"#{name}")) for m in re.finditer(re.escape(phrase), text)
            ]
        for pattern, words, path in _COMMANDS:
            for m in pattern.finditer(text):
                said, way = words.format(m[1]), path.format(quote(m[1], safe=""))
                spans.append((m.start(), m.end(), link(said, way)))
        for m in _OPTION.finditer(text):
            if m[1] in self.fields:
                name, label = self.fields[m[1]]
                spans.append((m.start(), m.end(), link(f'"{label}"', f"#{name}")))
        out, at = [], 0
        for start, end, said in sorted(spans, key=lambda span: (span[0], -span[1])):
            if start >= at:
                out += [rest(text[at:start]), said]
                at = end
        return "".join([*out, rest(text[at:])])

    def place(self, fault: WoodrefError, usual: str) -> str:
        """The field of a fault: that of the first option it names; what to do next may name others."""
        told = " ".join(part for part in (fault.where, fault.message) if part)
        named = [m[1] for m in _OPTION.finditer(told) if m[1] in self.fields]
        return self.fields[named[0]][0] if named else usual

    def tell(self, ask: Ask, fault: WoodrefError, name: str) -> None:
        """Put a fault at a field; the first one of a field stands."""
        ask.wrong.setdefault(name, self.sentence(fault))

    def sentence(self, fault: WoodrefError) -> str:
        """'Made into is missing.': the fault in words of the form, an option at its head as a plain label."""
        told = f"{fault.where}: {fault.message}" if fault.where else fault.message
        head = _OPTION.match(told)
        if head and head[1] in self.fields:
            rest = told[head.end() :].removeprefix(":").strip()
            label = self.fields[head[1]][1]
            told = (
                f"{label}: {rest}" if rest[:1] in '"“' or told[head.end() :][:1] == ":" else f"{label} {rest}"
            )
        told = self.plain(told)
        told = f"{told[:1].upper()}{told[1:]}"
        parts = [told if told.endswith((".", "?")) else f"{told}."]
        if fault.expected:
            parts.append(f"Expected: {self.plain(fault.expected)}.")
        if fault.next:
            parts.append(self.plain(fault.next))
        return " ".join(part for part in parts if part.strip())


#: the field of pages that take a name by the trade of a country
REGION = "Country whose trade names are meant"
#: sentences at the fields of a page that has no words of its own
USUAL = FormWords({"--region": ("region", REGION)})
#: and of a page that has no field for that country
WITHOUT_REGION = FormWords({}, {", or --region with the country whose trade name it is": ("", "")})
