"""Tab: codes and entry numbers from the log of the production that is meant.

Whatever goes wrong while a shell asks, the answer is no suggestions: nothing may be printed then.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import typer

if TYPE_CHECKING:
    from credits.model.written import WrittenLog

Completion = Callable[[typer.Context, str], list[tuple[str, str]]]

MOST_ENTRIES = 50


def folder_meant(ctx: typer.Context) -> Path:
    """The folder of the production that a half-typed command means. Raises NoProduction."""
    from credits.store import find_production

    named = ctx.params.get("production") or ctx.find_root().params.get("production")
    return find_production(Path(named) if named else None, os.environ, Path.cwd())


def _written(ctx: typer.Context) -> WrittenLog:
    from credits.store import open_log

    with open_log(folder_meant(ctx)) as log:
        return log.read()


def _name(fact: object) -> str:
    """The name beside a code. The shells' own scripts read brackets as markup, so none stay."""
    from credits.cli.codes import name_of
    from credits.cli.printing import clean

    return clean(name_of(fact) or "").replace("[", "(").replace("]", ")").replace("\\", "/")


def _codes(ctx: typer.Context, tables: tuple[str, ...]) -> Iterator[tuple[str, str]]:
    written = _written(ctx)
    for table in tables:
        for fact in getattr(written, table):
            yield fact.code, _name(fact)


def as_typed(code: str, incomplete: str) -> str:
    """The code with its beginning in the case that was typed: shells drop what begins otherwise."""
    return code if code.startswith(incomplete) else incomplete + code[len(incomplete) :]


def production_codes(*tables: str) -> Completion:
    """A completion with the codes of some tables, names beside them; case does not matter."""

    def complete(ctx: typer.Context, incomplete: str) -> list[tuple[str, str]]:
        wanted = incomplete.casefold()
        try:
            found = list(_codes(ctx, tables))
        except Exception:
            return []
        return [
            (as_typed(code, incomplete), name)
            for code, name in found
            if code.casefold().startswith(wanted)
        ]

    return complete


def entry_numbers(ctx: typer.Context, incomplete: str) -> list[tuple[str, str]]:
    """The numbers of the latest entries that count, the last one first."""
    from credits.model.replay import current_lines

    try:
        current = [holds for _, holds in current_lines(_written(ctx).lines)[0]]
    except Exception:
        return []
    wanted = incomplete.upper()
    fitting = [line for line in current if str(line.number).startswith(wanted)]
    latest = sorted(fitting, key=lambda line: line.number, reverse=True)[:MOST_ENTRIES]
    return [
        (as_typed(str(line.number), incomplete), f"{line.work.craft} {line.work.person}")
        for line in latest
        if line.work
    ]
