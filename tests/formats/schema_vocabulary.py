"""A document held against the vocabulary of schema.org, as its keepers publish it.

The rules are those of schema.org's data model ("Data model", schema.org/docs/datamodel.html): a
type and a property must exist; a property stands on a type of its ``domainIncludes`` or one below
it; its value is of its ``rangeIncludes`` or one below; a text may stand for a thing; a ``Role`` may
stand in place of any value and repeats the property on the value itself ("Introducing 'Role'",
blog.schema.org, 2014).
"""

from __future__ import annotations

import csv
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from functools import cache
from typing import Any

from tests.fetched import sample

HOME = "https://schema.org/"
TEXTS = {"Text", "URL", "CssSelectorType", "XPathType", "PronounceableText"}


@dataclass(frozen=True, slots=True)
class Vocabulary:
    """Types with what is right above each; properties with where they stand and what they hold."""

    above: dict[str, frozenset[str]]
    domains: dict[str, frozenset[str]]
    ranges: dict[str, frozenset[str]]

    def kinds(self, name: str) -> frozenset[str]:
        """A type and all that it is too."""
        found, waiting = set(), [name]
        while waiting:
            if (each := waiting.pop()) not in found:
                found.add(each)
                waiting.extend(self.above.get(each, ()))
        return frozenset(found)

    def faults(self, node: dict[str, Any]) -> list[str]:
        """What in a JSON-LD document the vocabulary does not know, in words."""
        assert node.get("@context") == HOME.rstrip("/")
        document = {term: value for term, value in node.items() if term != "@context"}
        return list(self._of_node(document))

    def _of_node(self, node: dict[str, Any], role_of: str = "") -> Iterator[str]:
        kind = node.get("@type")
        if kind not in self.above:
            yield f"no type {kind}"
            return
        for term, value in node.items():
            if term in ("@type", "@id"):
                continue
            if term not in self.domains:
                yield f"no property {term}"
            elif term != role_of and not self.kinds(kind) & self.domains[term]:
                yield f"{term} does not stand on a {kind}"
            else:
                for one in value if isinstance(value, list) else [value]:
                    yield from self._of_value(term, one)
        if role_of and role_of not in node:
            yield f"a {kind} in place of {role_of} does not repeat it"

    def _of_value(self, term: str, value: Any) -> Iterator[str]:
        allowed = self.ranges[term]
        if isinstance(value, dict):
            kinds = self.kinds(value.get("@type", ""))
            if "Role" in kinds and not kinds & allowed:
                yield from self._of_node(value, role_of=term)
                return
            if not kinds & allowed:
                yield f"{term} does not hold a {value.get('@type')}"
            yield from self._of_node(value)
        elif isinstance(value, str):
            if not (allowed & TEXTS or (allowed & {"Date", "DateTime"} and _is_date(value))):
                yield f"{term} does not hold the text {value!r}"
        else:
            yield f"{term} does not hold {value!r}"


def _is_date(text: str) -> bool:
    """Whether a text is a date of ISO 8601."""
    try:
        return bool(date.fromisoformat(text))
    except ValueError:
        return False


@cache
def vocabulary() -> Vocabulary:
    """Release 12.0 of schema.org, with what is pending, of the distribution ``schemaorg``."""

    def rows(name: str) -> list[dict[str, str]]:
        with sample("schemaorg", f"schemaorg-all-https-{name}.csv").open(encoding="utf-8") as file:
            return list(csv.DictReader(file))

    def names(cell: str) -> frozenset[str]:
        return frozenset(one.strip().removeprefix(HOME) for one in cell.split(",") if one.strip())

    properties = rows("properties")
    return Vocabulary(
        above={row["label"]: names(row["subTypeOf"]) for row in rows("types")},
        domains={row["label"]: names(row["domainIncludes"]) for row in properties},
        ranges={row["label"]: names(row["rangeIncludes"]) for row in properties},
    )
