"""The production that a command means: its folder, and its codes for the Tab key."""

from __future__ import annotations

import os
from collections.abc import Iterable
from pathlib import Path
from typing import Annotated

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


def beginning(found: Iterable[tuple[str, str]], incomplete: str) -> list[tuple[str, str]]:
    """Keep the words (each with its help) that begin as typed, without regard to case.

    They begin in the case that was typed: shells drop what begins otherwise.
    """
    wanted = incomplete.casefold()
    return [
        (word if word.startswith(incomplete) else incomplete + word[len(incomplete) :], text)
        for word, text in found
        if word.casefold().startswith(wanted)
    ]


def codes(*tables: str) -> Completion:
    """Make a completion with the codes of some tables, names beside them."""

    def complete(ctx: typer.Context, incomplete: str) -> list[tuple[str, str]]:
        try:
            written = _written(ctx)
        except Exception:
            return []
        facts = (fact for table in tables for fact in getattr(written, table))
        return beginning(((fact.code, _name(fact)) for fact in facts), incomplete)

    return complete


def entry_numbers(ctx: typer.Context, incomplete: str) -> list[tuple[str, str]]:
    """List the numbers of the latest entries that count, the last one first."""
    try:
        current = [holds for _, holds in current_lines(_written(ctx).lines)[0]]
    except Exception:
        return []
    latest = sorted(current, key=lambda line: line.number, reverse=True)
    found = (
        (str(line.number), f"{line.work.craft} {line.work.person}") for line in latest if line.work
    )
    return beginning(found, incomplete)[:MOST_ENTRIES]


Persons = Annotated[
    list[str] | None,
    option(..., "--person", "Only this person; may be given again.", "CODE", codes("people")),
]
Characters = Annotated[
    list[str] | None,
    option(
        ..., "--character", "Only this character; may be given again.", "CODE", codes("characters")
    ),
]
