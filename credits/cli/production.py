"""The production that a command means: its folder, and its codes for the Tab key."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Iterator
from functools import partial
from pathlib import Path
from typing import Annotated, Any

import typer

from credits.app.named import name_of
from credits.cli.options import Completion, option
from credits.cli.printing import clean
from credits.model.log import WrittenLog
from credits.model.replay import current_lines
from credits.store.log import open_log
from credits.store.production import find_production


def folder_of(production: Path | None) -> Path:
    """Find the folder of the production that is meant. Raises NoProduction."""
    return find_production(production, os.environ, Path.cwd())


MOST_ENTRIES = 50


def folder_meant(ctx: typer.Context) -> Path:
    """Find the folder of the production that a half-typed command means. Raises NoProduction."""
    named = ctx.params.get("production") or ctx.find_root().params.get("production")
    return folder_of(Path(named) if named else None)


def _written(ctx: typer.Context) -> WrittenLog:
    with open_log(folder_meant(ctx)) as log:
        return log.read()


def _name(fact: object) -> str:
    """Return the name beside a code, without brackets: the shells' scripts read them as markup."""
    return clean(name_of(fact) or "").replace("[", "(").replace("]", ")").replace("\\", "/")


def completion(
    found: Callable[[typer.Context], Iterable[tuple[str, str]]], most: int | None = None
) -> Completion:
    """Make a completion of the words that are found, each with its help; without a log of none.

    They begin as typed, without regard to case; in the case that was typed: shells drop others.
    """

    def complete(ctx: typer.Context, incomplete: str) -> list[tuple[str, str]]:
        try:
            like = [
                each for each in found(ctx) if each[0].casefold().startswith(incomplete.casefold())
            ]
        except Exception:
            return []
        rest = len(incomplete)
        return [(incomplete + word[rest:], text) for word, text in like[:most]]

    return complete


def codes(*tables: str) -> Completion:
    """Make a completion with the codes of some tables, names beside them."""

    def found(ctx: typer.Context) -> Iterator[tuple[str, str]]:
        written = _written(ctx)
        return ((fact.code, _name(fact)) for each in tables for fact in getattr(written, each))

    return completion(found)


@partial(completion, most=MOST_ENTRIES)
def entry_numbers(ctx: typer.Context) -> Iterator[tuple[str, str]]:
    """Find the numbers of the entries that count, the last one first."""
    current = (holds for _, holds in current_lines(_written(ctx).lines)[0])
    for line in sorted(current, key=lambda line: line.number, reverse=True):
        if line.work:
            yield str(line.number), f"{line.work.craft} {line.work.person}"


def only(thing: str, table: str) -> Any:
    """Make an option that keeps what is of some codes of a table."""
    text = f"Only this {thing}; may be given again."
    return option(..., f"--{thing}", text, "CODE", codes(table))


Codes = list[str] | None
Persons = Annotated[Codes, only("person", "people")]
Characters = Annotated[Codes, only("character", "characters")]
Sequences = Annotated[Codes, only("sequence", "sequences")]
