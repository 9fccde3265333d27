"""Codes of two logs that are one thing, as was decided: the lists of one in the other's codes.

A row that no line names can go: another stands for it, in whatever rows of lists named it. That is
read as if the log had put it right itself just before it is merged, so all that follows (which log
knows of which value, what is to be decided) is found as always.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from credits.model.merging import Key, Lists, RowOf
from credits.model.pasts import Past
from credits.store.logs.merge_read import REFERS
from credits.store.reading import FACT_TABLES, FactTable
from credits.text import fold_code

Instead = Mapping[RowOf, str]
"""The rows that go, and the codes of those that stand for them."""


def called_otherwise(lists: Lists, instead: Instead) -> Lists:
    """Return the lists of a log that has rows that go, in the codes of those that stand for them.

    The log has never had these codes itself.
    """
    if not instead:
        return lists
    return {table.name: _called(table, lists[table.name], instead) for table in FACT_TABLES}


def _called(
    table: FactTable, pasts: Mapping[Key, Past[Any]], instead: Instead
) -> dict[Key, Past[Any]]:
    found = dict(pasts)
    for key, past in pasts.items():
        if past.said is None or not (other := _other_codes(table, key, past.said, instead)):
            continue
        fact = replace(past.said, **other)
        at = table.key_of(table.values(fact))
        if at != key:
            found[key] = Past((*past.values, None))
            past = pasts.get(at, Past())
        found[at] = Past((*past.values, fact), fact)
    return found


def _other_codes(table: FactTable, key: Key, said: Any, instead: Instead) -> dict[str, str]:
    """Return the fields of a fact that hold codes of rows that go, and what they are to hold."""
    named = {name: (of, getattr(said, name)) for name, of in REFERS[table.name].items()}
    rows = {name: (of, (fold_code(code),)) for name, (of, code) in named.items() if code}
    if table.has_code:
        rows["code"] = table.name, key
    return {name: instead[row] for name, row in rows.items() if row in instead}
