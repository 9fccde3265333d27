"""What became of the sections themselves between a proof and the credits as they stand."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from credits.compute.credit_lines import Credits, Section
from credits.compute.proof_changes import ChangeKind, CreditChange, moved_among, shown
from credits.text import fold_words

Key = tuple[str, int]
"""A heading without regard to case, and which of those that are called so."""


def _by_key(credits: Credits) -> dict[Key, Section]:
    often: Counter[str] = Counter()
    sections: dict[Key, Section] = {}
    for section in credits.sections:
        name = fold_words(section.heading)
        often[name] += 1
        sections[name, often[name]] = section
    return sections


def section_changes(then: Credits, now: Credits) -> Iterator[CreditChange]:
    """Sections that are new, gone, called or set otherwise, with another text or in another place;
    in the order of the credits as they stand, those that are gone last."""
    before, after = _by_key(then), _by_key(now)
    moved = frozenset(moved_among(list(before), after))
    previous: Section | None = None
    for key, section in after.items():
        old = before.get(key)
        if old is None:
            yield _change(section, "is new")
        else:
            yield from _differences(old, section)
        if key in moved:
            where = "first" if previous is None else f"behind {shown(previous.heading)}"
            yield _change(section, f"now stands {where}")
        previous = section
    for key, section in before.items():
        if key not in after:
            yield _change(section, "is gone")


def _change(section: Section, rest: str) -> CreditChange:
    what = f"The section {shown(section.heading)} {rest}."
    return CreditChange(ChangeKind.SECTION, "", "", section.heading, what)


def _differences(old: Section, new: Section) -> Iterator[CreditChange]:
    if old.heading != new.heading:
        yield _change(new, f"was written {shown(old.heading)}")
    if old.text != new.text:
        yield _change(new, "has another text")
    if old.layout is not new.layout:
        yield _change(new, f"is set as {new.layout} (before: {old.layout})")
    elif old.columns != new.columns:
        yield _change(new, f"is set in {new.columns} columns (before: {old.columns})")
