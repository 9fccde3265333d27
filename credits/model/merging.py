"""The lists of two logs made one: row by row, three ways where they have a common past.

A row that one log alone has changed is as that log says; where both have, column by column. What
both have made otherwise is for somebody to decide. A row that one log has voided stays where the
entries, or rows of lists, of the other name it.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import MISSING, dataclass, field, fields, replace
from enum import StrEnum
from typing import Any

from credits.model.pasts import Later, Past, last_in_common, later, to_be_noted
from credits.text import fold_code

Key = tuple[Any, ...]
"""What makes a row of a list unique."""
RowOf = tuple[str, Key]
"""A list, and the key of a row of it."""
Lists = Mapping[str, Mapping[Key, Past[Any]]]
"""The past of every row of every list, by list and key."""
Refers = Mapping[str, Mapping[str, str]]
"""For each list the fields that hold codes of others, and which."""

WHOLE_ROW = ""
"""Stands for the columns where one log has the row and the other has voided it."""


class Keep(StrEnum):
    """What is decided where two logs say different things."""

    OURS = "ours"
    THEIRS = "theirs"


@dataclass(frozen=True, slots=True, kw_only=True)
class RowConflict:
    """A row that both logs have changed, each in its way; None: it is not there.

    fields: those that are to be decided; WHOLE_ROW: whether it is there at all.
    """

    table: str
    key: Key
    ours: Any
    theirs: Any
    fields: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class RowMerge:
    """A row of which something is to be written: what it says in our log, and what it is to say.

    noted: the values that are to be noted as seen, and how often. is_kept: one log had voided it,
    and the other names it. decided: the fields that somebody has decided, and how.
    """

    table: str
    key: Key
    ours: Any
    theirs: Any
    becomes: Any
    noted: Counter[Any] = field(default_factory=Counter)
    is_kept: bool = False
    decided: tuple[tuple[str, Keep], ...] = ()


Decide = Callable[[str, Key, str], Keep | None]
"""What was decided of a field of a row of a list; None: nothing yet."""


@dataclass(frozen=True, slots=True)
class MergedLists:
    """Every row of which something is to be written, and what is to be decided before."""

    rows: tuple[RowMerge, ...]
    conflicts: tuple[RowConflict, ...]


def _usual(row: Any) -> dict[str, Any]:
    """Return what each field of a row holds where nothing was said; MISSING: it must be said."""
    return {each.name: each.default for each in fields(row)}


def merge_row(
    table: str, key: Key, ours: Past[Any], theirs: Past[Any], decide: Decide
) -> RowMerge | RowConflict:
    """Make one row of two. A conflict names those fields alone that are not decided."""
    found = later(ours, theirs)
    said: dict[str, Any] = {"table": table, "key": key, "ours": ours.said, "theirs": theirs.said}
    if found is not Later.APART:
        return RowMerge(**said, becomes=theirs.said if found is Later.THEIRS else ours.said)
    if ours.said is None or theirs.said is None:
        keep = decide(table, key, WHOLE_ROW)
        if keep is None:
            return RowConflict(**said, fields=(WHOLE_ROW,))
        becomes = ours.said if keep is Keep.OURS else theirs.said
        return RowMerge(**said, becomes=becomes, decided=((WHOLE_ROW, keep),))
    base = last_in_common(ours, theirs)
    usual = _usual(ours.said)
    values: dict[str, Any] = {}
    decided: list[tuple[str, Keep]] = []
    undecided: list[str] = []
    for name, default in usual.items():
        own, other = getattr(ours.said, name), getattr(theirs.said, name)
        before = default if base is None else getattr(base, name)
        if own == other or (other == before and before is not MISSING):
            continue
        if own == before and before is not MISSING:
            values[name] = other
            continue
        keep = decide(table, key, name)
        if keep is None:
            undecided.append(name)
            continue
        decided.append((name, keep))
        if keep is Keep.THEIRS:
            values[name] = other
    if undecided:
        return RowConflict(**said, fields=tuple(undecided))
    becomes = replace(ours.said, **values) if values else ours.said
    return RowMerge(**said, becomes=becomes, decided=tuple(decided))


def merge_lists(
    ours: Lists,
    theirs: Lists,
    refers: Refers,
    named: Iterable[RowOf],
    decide: Decide,
    same: Mapping[str, str] | None = None,
    kept: Lists | None = None,
) -> MergedLists:
    """Make the lists of two logs one.

    named: rows that entries of either log name: they stay. same: codes of people, folded, that are
    the same as another, and that other. kept: our lists as the log keeps them, where ours are told
    in other codes.
    """
    merged: dict[RowOf, RowMerge] = {}
    conflicts: list[RowConflict] = []
    pasts = {
        (table, key): (ours[table].get(key, Past()), theirs[table].get(key, Past()))
        for table in ours
        for key in {**ours[table], **theirs[table]}
    }
    for (table, key), both in pasts.items():
        found = merge_row(table, key, *both, decide)
        if isinstance(found, RowConflict):
            conflicts.append(found)
        else:
            merged[table, key] = found
    for code, one in (same or {}).items():
        at = "people", (code,)
        if at in merged and merged[at].becomes is not None and merged[at].becomes.same_as != one:
            merged[at] = replace(merged[at], becomes=replace(merged[at].becomes, same_as=one))
    _keep_what_is_named(merged, refers, named)
    rows = []
    for (table, key), row in merged.items():
        there = (kept or ours)[table].get(key, Past())
        noted = to_be_noted(*pasts[table, key], row.becomes, there)
        rows.append(replace(row, ours=there.said, noted=noted))
    return MergedLists(
        tuple(row for row in rows if row.noted or row.becomes != row.ours), tuple(conflicts)
    )


def _keep_what_is_named(
    merged: dict[RowOf, RowMerge], refers: Refers, named: Iterable[RowOf]
) -> None:
    """Let those rows stay that something names, and what these name, and so on."""
    wanted = list(named)
    for row in merged.values():
        if row.becomes is not None:
            wanted.extend(_named_by(row, refers))
    while wanted:
        at = wanted.pop()
        if at not in merged or merged[at].becomes is not None:
            continue
        row = merged[at]
        becomes = row.ours if row.ours is not None else row.theirs
        if becomes is not None:
            merged[at] = replace(row, becomes=becomes, is_kept=True)
            wanted.extend(_named_by(merged[at], refers))


def _named_by(row: RowMerge, refers: Refers) -> Iterator[RowOf]:
    for name, table in refers[row.table].items():
        code = getattr(row.becomes, name)
        if code is not None:
            yield table, (fold_code(code),)
