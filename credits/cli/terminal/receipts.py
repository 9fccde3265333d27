"""What a command has written, in words: for when it is stopped, or its answer cannot be printed."""

from __future__ import annotations

import os
from collections.abc import Iterator, Sequence
from collections.abc import Set as AbstractSet
from pathlib import Path

from credits.model.log import Receipt
from credits.model.words import counted, some_of


def written_text(written: Sequence[object]) -> str:
    """Return what was written, such as ``A-17 and /films/wick/site/crew``; empty for nothing."""
    folders = {each for each in written if isinstance(each, Path)}
    told = (each for each in written if not _is_in(each, folders))
    said = dict.fromkeys(text for each in told for text in _texts(each))
    return some_of(said)


def _is_in(each: object, folders: AbstractSet[Path]) -> bool:
    """Whether it is part of a folder that was written as well."""
    return isinstance(each, Path) and not folders.isdisjoint(each.parents)


def _texts(each: object) -> Iterator[str]:
    if isinstance(each, Path):
        yield os.path.relpath(each) if each.is_relative_to(Path.cwd()) else str(each)
    elif isinstance(each, Receipt):
        yield from list(_of_log(each)) or ["the change in the log"]


def _of_log(receipt: Receipt) -> Iterator[str]:
    first, *more = receipt.numbers or (None,)
    if more:
        yield f"{first} to {more[-1]} ({counted(len(more) + 1, 'entry', 'entries')})"
    elif first is not None:
        yield str(first)
    for table, count in receipt.counts.items():
        rows = count.new + count.changed
        if rows and table != "entries":
            yield f"{counted(rows, 'row')} of {table}"
    if receipt.cut_version is not None:
        yield f"cut version {receipt.cut_version}"
    if receipt.proof is not None:
        yield f"proof {receipt.proof}"


def stopped_text(written: Sequence[object]) -> str:
    """Return what a person is told whose Ctrl-C has stopped a command."""
    if not written:
        return "Stopped. Nothing was written."
    return f"Stopped. Written before that: {written_text(written)}. Nothing else was written."


def unprinted_text(written: Sequence[object], reason: str) -> str:
    """Return what is said on standard error where standard output takes no answer."""
    if not written:
        return f"The answer could not be printed ({reason})."
    return f"Written: {written_text(written)}. Only the answer could not be printed ({reason})."


def failed_text(written: Sequence[object]) -> str:
    """Return what was written by a command that failed behind it; empty for nothing."""
    said = written_text(written)
    return f"Written before that: {said}." if said else ""
