"""Codes that each of two logs has alone and that may be one thing, written differently."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Collection, Hashable, Iterable, Iterator, Mapping, Sequence
from typing import Any, NamedTuple

from credits.billing.compared.likeness import likeness
from credits.checks.names import alike
from credits.model.merging import Lists, RowOf
from credits.text import fold_code

LEAST_ALIKE = 75
"""Words of two codes whose letters are less alike, in per cent, are two words."""
NAMED = ("people", "characters")
"""Lists whose rows are known by names; of the others codes alone are compared."""
COMPARED = (*NAMED, "puppets", "parts", "stages", "sequences", "shots", "crafts")
JOINED = ("characters", "puppets", "parts", "sequences", "stages")
"""Lists of which one row can stand for another, where no entry names the other."""
_NEVER_JOINED = {
    "shots": "Shots are not joined: frames and takes are counted within each.",
    "crafts": "Crafts are not joined: each says for itself what its entries count.",
}
_WORDS = re.compile(r"\d+|[^\W\d_]+")


class NearMatch(NamedTuple):
    """A row that ours has alone, and one that theirs has alone, which may be one."""

    table: str
    ours: Any
    theirs: Any


def near_matches(ours: Lists, theirs: Lists) -> Iterator[NearMatch]:
    """Find the rows that each log has alone and that are spelled nearly alike, list by list.

    What either log has ever had is known to it: somebody has told the two apart there.
    """
    for table in COMPARED:
        own = _alone(ours[table], theirs[table])
        others = _alone(theirs[table], ours[table])
        if own and others:
            pairs = _pairs(table, own, others)
            yield from (NearMatch(table, own[one], others[other]) for one, other in pairs)


class Joining(NamedTuple):
    """How the two rows of a match would become one. goes: the row that another stands for.

    why_not: why they cannot; then nothing goes.
    """

    goes: Any = None
    stays: Any = None
    why_not: str = ""


def joining(match: NearMatch, matches: Sequence[NearMatch], named: Collection[RowOf]) -> Joining:
    """Find which row of a match goes if both are one: the same whichever log is asked.

    matches: all there are. named: the rows that lines of either log name; lines never change.
    """
    if match.table not in JOINED:
        return Joining(why_not=_NEVER_JOINED.get(match.table, ""))
    codes = {match.ours.code, match.theirs.code}
    like = [each for each in matches if each.table == match.table]
    if sum(not codes.isdisjoint((each.ours.code, each.theirs.code)) for each in like) > 1:
        return Joining(why_not="Of more than two codes that are alike none are joined.")
    one, other = sorted((match.ours, match.theirs), key=lambda row: (fold_code(row.code), row.code))
    is_named = [(match.table, (fold_code(row.code),)) in named for row in (one, other)]
    if all(is_named):
        return Joining(why_not="Entries name both, and what was logged is never rewritten.")
    return Joining(one, other) if is_named[1] else Joining(other, one)


def _alone(rows: Mapping[Any, Any], others: Mapping[Any, Any]) -> dict[str, Any]:
    """Return the rows that one log alone has ever had, by their codes."""
    now = (past.said for key, past in rows.items() if key not in others)
    return {row.code: row for row in now if row is not None}


def _pairs(table: str, own: Mapping[str, Any], others: Mapping[str, Any]) -> list[tuple[str, str]]:
    by_letters = table not in NAMED
    like: dict[Hashable, list[str]] = defaultdict(list)
    for code in others:
        for kind in _kinds(code, by_letters):
            like[kind].append(code)
    found = {
        (one, other)
        for one in own
        for kind in _kinds(one, by_letters)
        for other in like.get(kind, ())
        if codes_alike(one, other, by_letters)
    }
    if not by_letters:
        # Sets of names are compared at once; a code may stand on both sides.
        names = [(f"0{code}", name) for code, row in own.items() for name in _names(row)]
        names += [(f"1{code}", name) for code, row in others.items() for name in _names(row)]
        found |= {(a[1:], b[1:]) for a, b, _ in alike(names) if a[0] == "0" and b[0] == "1"}
    return sorted(found)


def _names(row: Any) -> Iterable[str]:
    said = (getattr(row, name, None) for name in ("credit_name", "legal_name", "name"))
    return {name for name in said if name}


def _words(code: str) -> list[str]:
    """Return the words and figures of a code; zeros before figures count nothing."""
    return [word.lstrip("0") or word for word in _WORDS.findall(fold_code(code))]


def _is_fixed(word: str) -> bool:
    """Tell whether a word must be the same: figures and single letters count copies."""
    return not word.isalpha() or len(word) == 1


def _kinds(code: str, by_letters: bool) -> Iterator[Hashable]:
    """Yield what two codes share, one or the other, that may be one."""
    words = _words(code)
    yield "".join(words)
    if by_letters:
        yield tuple(word if _is_fixed(word) else None for word in words)


def codes_alike(one: str, other: str, by_letters: bool = True) -> bool:
    """Tell whether two codes may be one, written differently.

    The same letters and figures, however they are parted, may be. So may words that are nearly the
    same, where by_letters says so; figures and single letters must be the same: they count copies.
    """
    first, second = _words(one), _words(other)
    if "".join(first) == "".join(second):
        return True
    if not by_letters or len(first) != len(second):
        return False
    return all(
        a == b or (not (_is_fixed(a) or _is_fixed(b)) and likeness(a, b) >= LEAST_ALIKE)
        for a, b in zip(first, second, strict=True)
    )
