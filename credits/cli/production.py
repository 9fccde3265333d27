"""The production that a command means: its folder, and its codes for the Tab key."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Iterator
from functools import partial
from itertools import islice
from pathlib import Path
from typing import Annotated, Any

import typer

from credits.cli.options import Completion, option
from credits.cli.terminal.printing import clean
from credits.store.codes import codes_of, last_lines
from credits.store.file import find_production

MEANT: list[Path] = []
"""The folder that was found last: of what a command was asked that then failed."""


def folder_of(production: Path | None) -> Path:
    """Find the folder of the production that is meant. Raises NoProduction."""
    found = find_production(production, os.environ, Path.cwd())
    MEANT[:] = [found]
    return found


MOST_ENTRIES = 50


def folder_meant(ctx: typer.Context) -> Path:
    """Find the folder of the production that a half-typed command means. Raises NoProduction."""
    named = ctx.params.get("production") or ctx.find_root().params.get("production")
    return folder_of(Path(named) if named else None)


def _shown(name: str | None) -> str:
    """Return the name beside a code, without brackets: the shells' scripts read them as markup."""
    return clean(name or "").replace("[", "(").replace("]", ")").replace("\\", "/")


def completion(
    found: Callable[[typer.Context], Iterable[tuple[str, str]]], most: int | None = None
) -> Completion:
    """Make a completion of the words that are found, each with its help; without a log of none.

    They begin as typed, without regard to case; in the case that was typed: shells drop others.
    """

    def complete(ctx: typer.Context, incomplete: str) -> list[tuple[str, str]]:
        begun, rest = incomplete.casefold(), len(incomplete)
        try:
            like = (each for each in found(ctx) if each[0].casefold().startswith(begun))
            return [(incomplete + word[rest:], text) for word, text in islice(like, most)]
        except Exception:
            return []

    return complete


Note = tuple[str, list[Any]]
_NOTES: dict[Completion, Note] = {}


def note_of(complete: Completion) -> Note | None:
    """Return what can be written down of a completion: its kind, and what it was made of.

    None: only the module that holds it can make it again.
    """
    return _NOTES.get(complete)


def completion_of(note: Note) -> Completion:
    """Make the completion again of which this is the note."""
    kind, given = note
    return _MAKERS[kind](*given)


def codes(*tables: str) -> Completion:
    """Make a completion with the codes of some tables, names beside them."""

    def found(ctx: typer.Context) -> Iterator[tuple[str, str]]:
        return ((code, _shown(name)) for code, name in codes_of(folder_meant(ctx), tables))

    complete = completion(found)
    _NOTES[complete] = "codes", [*tables]
    return complete


def fixed_words(*known: tuple[str, str]) -> Completion:
    """Make a completion with words that are the same in every production, each with its help."""
    complete = completion(lambda _: known)
    _NOTES[complete] = "words", [*known]
    return complete


@partial(completion, most=MOST_ENTRIES)
def entry_numbers(ctx: typer.Context) -> Iterator[tuple[str, str]]:
    """Find the numbers of the entries that count, the last one first."""
    for line in last_lines(folder_meant(ctx)):
        if line.work:
            yield str(line.number), f"{line.work.craft} {line.work.person}"


_NOTES[entry_numbers] = "entries", []
_MAKERS: dict[str, Callable[..., Completion]] = {
    "codes": codes,
    "words": fixed_words,
    "entries": lambda: entry_numbers,
}


def only(thing: str, table: str) -> Any:
    """Make an option that keeps what is of some codes of a table."""
    text = f"Only this {thing}; may be given again."
    return option(..., f"--{thing}", text, "CODE", codes(table))


Codes = list[str] | None
Persons = Annotated[Codes, only("person", "people")]
Characters = Annotated[Codes, only("character", "characters")]
Sequences = Annotated[Codes, only("sequence", "sequences")]
