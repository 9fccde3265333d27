"""Words of a command that name something in the log."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from datetime import date, timedelta
from pathlib import Path
from typing import Annotated, Protocol, TypeVar

import typer

from credits import app
from credits.cli.printing import clean
from credits.errors import Finding, WrongCall
from credits.formats.tables.cells import Unreadable, day, stripped
from credits.model.ledger import Ledger
from credits.model.log import WrittenLog
from credits.model.replay import current_lines
from credits.store import find_production, open_log
from credits.text import fold_code, nearest


class Coded(Protocol):
    """A fact with a code of its own."""

    @property
    def code(self) -> str:
        """The code."""


ONE_OF = {
    "crafts": "craft",
    "people": "person",
    "characters": "character",
    "puppets": "puppet",
    "parts": "part",
    "sequences": "sequence",
    "shots": "shot",
    "stages": "stage",
}


F = TypeVar("F", bound="Coded")


def name_of(fact: object) -> str | None:
    """What people call the thing, where it has a name beside its code."""
    for attribute in ("credit_name", "name", "kind"):
        found = getattr(fact, attribute, None)
        if isinstance(found, str):
            return found
    return None


def with_name(fact: Coded) -> str:
    """``ana (Ana Lind)``; the bare code where there is no other name."""
    name = name_of(fact)
    return fact.code if name is None else f"{fact.code} ({name})"


def spellings(fact: Coded) -> tuple[str, ...]:
    """What a thing is called by: its code, and its name where it has one."""
    return (fact.code, name_of(fact) or "")


def unknown(table: str, text: str, facts: Iterable[Coded]) -> WrongCall:
    """The error that nothing in the table has this code, with the nearest there is."""
    like = nearest(text, facts, spellings)
    hint = f"Did you mean {' or '.join(with_name(fact) for fact in like)}?" if like else ""
    if not hint:
        hint = f"See `credits find`, or add it to the {table} table with `credits load`."
    return WrongCall(Finding(f"no {ONE_OF[table]} has this code", hint, value=text))


def fact_named(table: str, text: str, facts: Iterable[F]) -> F:
    """The fact whose code this is, without regard to case. Raises WrongCall with the nearest."""

    every = tuple(facts)
    wanted = fold_code(stripped(text))
    for fact in every:
        if fold_code(fact.code) == wanted:
            return fact
    raise unknown(table, text, every)


def codes_named(
    table: str, texts: Sequence[str] | None, facts: Mapping[str, Coded]
) -> frozenset[str] | None:
    """The codes that an option names, several or parted by commas; None when not given."""
    if not texts:
        return None
    words = [word for text in texts for word in text.split(",") if word.strip()]
    return frozenset(fact_named(table, word, facts.values()).code for word in words)


def persons_named(texts: Sequence[str] | None, ledger: Ledger) -> frozenset[str] | None:
    """The people that an option names, each by the code that they are known by; None: not given."""
    codes = codes_named("people", texts, ledger.people)
    if codes is None:
        return None
    return frozenset(ledger.one_person.get(code, code) for code in codes)


def relative_day(text: str) -> str | None:
    """The date of ``today`` or ``yesterday``; None for anything else."""

    word = text.strip().lower()
    if word not in ("today", "yesterday"):
        return None
    return (date.today() - timedelta(days=int(word == "yesterday"))).isoformat()


def day_named(text: str, option: str) -> date:
    """A day: 2026-03-02, ``today`` or ``yesterday``. Raises WrongCall."""

    try:
        return day(relative_day(text) or text.strip())
    except Unreadable as found:
        hint = f"{found.hint} Or write today or yesterday."
        raise WrongCall(Finding(found.what, hint, column=option, value=text)) from None


Completion = Callable[[typer.Context, str], list[tuple[str, str]]]

MOST_ENTRIES = 50


def folder_meant(ctx: typer.Context) -> Path:
    """The folder of the production that a half-typed command means. Raises NoProduction."""

    named = ctx.params.get("production") or ctx.find_root().params.get("production")
    return find_production(Path(named) if named else None, os.environ, Path.cwd())


def _written(ctx: typer.Context) -> WrittenLog:

    with open_log(folder_meant(ctx)) as log:
        return log.read()


def _name(fact: object) -> str:
    """The name beside a code. The shells' own scripts read brackets as markup, so none stay."""

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


PersonsOption = Annotated[
    list[str] | None,
    typer.Option(
        "--person",
        metavar="CODE",
        help="Only this person; may be given again.",
        autocompletion=production_codes("people"),
    ),
]
CharactersOption = Annotated[
    list[str] | None,
    typer.Option(
        "--character",
        metavar="CODE",
        help="Only this character; may be given again.",
        autocompletion=production_codes("characters"),
    ),
]


def folder_of(production: Path | None) -> Path:
    """The production folder that is meant (4.1). Raises NoProduction."""

    return find_production(production, os.environ, Path.cwd())


def read_ledger(production: Path | None) -> Ledger:
    """The ledger of the production that is meant."""

    return app.read_ledger(folder_of(production))
