"""Find what a typed word names: a code of a table, a person, a day, an entry."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from importlib import import_module
from typing import Protocol, TypeVar

from credits.errors import Finding, WrongCall
from credits.model.facts import EntryNumber
from credits.model.lazy import Listed
from credits.model.ledger import Ledger
from credits.text import fold_code, nearest, stripped
from credits.units.film_time import Period


class Coded(Protocol):
    """A fact with a code of its own."""

    @property
    def code(self) -> str:
        """The code."""


F = TypeVar("F", bound=Coded)


def name_of(fact: object) -> str | None:
    """Return what people call the thing, where it has a name beside its code."""
    for attribute in ("credit_name", "name", "kind"):
        found = getattr(fact, attribute, None)
        if isinstance(found, str):
            return found
    return None


def with_name(fact: Coded) -> str:
    """Return ``ana (Ana Lind)``; the bare code where there is no other name."""
    called = name_of(fact)
    return fact.code if called is None else f"{fact.code} ({called})"


def like_ones(text: str, facts: Iterable[Coded]) -> str:
    """Ask whether the likest facts were meant; empty where nothing is like the text."""
    like = nearest(text, facts, lambda fact: (fact.code, name_of(fact) or ""))
    return f"Did you mean {' or '.join(with_name(fact) for fact in like)}?" if like else ""


def of_code(text: str, facts: Iterable[F]) -> F | None:
    """Find the fact whose code this is, without regard to case."""
    wanted = fold_code(stripped(text))
    return next((fact for fact in facts if fold_code(fact.code) == wanted), None)


def of_name(text: str, facts: Iterable[F]) -> list[F]:
    """Find the facts that have this name; accents and case do not count."""
    # Only a name waits for the table of letters.
    fold = import_module("credits.names").fold
    wanted = fold(text)
    return [fact for fact in facts if wanted and fold(name_of(fact) or "") == wanted]


def fact_named(table: str, text: str, facts: Iterable[F]) -> F:
    """Find the fact whose code a text is, or else the only one that has it as its name.

    Raises WrongCall for none, with those most like it, and for several.
    """
    exact: F | None = None
    if isinstance(facts, Listed):
        exact = facts.of_key(fold_code(stripped(text)))
    if exact is not None:
        return exact
    every = tuple(facts)
    exact = of_code(text, every)
    if exact is not None:
        return exact
    found = of_name(text, every)
    if len(found) == 1:
        return found[0]
    if found:
        raise WrongCall(name_of_several(table, text, found))
    hint = f"Add it to the {table} table, or correct the code."
    # Only a mistake waits for the descriptions of all tables.
    one = import_module("credits.formats.tables.columns").TABLES[table].one
    what = f"no {one} has this code or name"
    raise WrongCall(Finding(what, like_ones(text, every) or hint, value=text))


def name_of_several(table: str, text: str, found: Sequence[Coded]) -> Finding:
    """Say that a text is the name of several things, and which codes they have."""
    which = " or ".join(with_name(fact) for fact in found[:6])
    what = f"is the name of {len(found)} {table}"
    return Finding(what, f"Write the code of one: {which}.", value=text)


def codes_named(
    table: str, texts: Sequence[str] | None, facts: Mapping[str, Coded]
) -> frozenset[str] | None:
    """Find the codes that texts name, several or parted by commas; None when not given."""
    if not texts:
        return None
    every = facts.values()
    words: list[str] = []
    for text in texts:
        is_name = "," in text and of_name(text, every)
        words += [text] if is_name else [word for word in text.split(",") if word.strip()]
    return frozenset(fact_named(table, word, every).code for word in words)


def persons_named(texts: Sequence[str] | None, ledger: Ledger) -> frozenset[str] | None:
    """Find the people that texts name, each by the code that they are known by."""
    codes = codes_named("people", texts, ledger.people)
    if codes is None:
        return None
    return frozenset(ledger.one_person.get(code, code) for code in codes)


def day_named(text: str, option: str) -> date:
    """Read a day: 2026-03-02, or as people say it, such as ``monday``. Raises WrongCall."""
    # Only a day that is typed waits for what reads cells, and so does a text below.
    cells = import_module("credits.formats.tables.cells")
    spoken: date | None = cells.spoken_day(text, date.today())
    if spoken is not None:
        return spoken
    try:
        read: date = cells.day(text.strip())
        return read
    except cells.Unreadable as found:
        hint = f"{found.hint} Or write today, monday, -1 or 6 mar."
        raise WrongCall(Finding(found.what, hint, column=option, value=text)) from None


def days_named(from_day: str | None, to_day: str | None) -> tuple[date | None, date | None]:
    """Read the first and the last day of a period. Raises WrongCall when it ends too early."""
    first = day_named(from_day, "--from") if from_day else None
    last = day_named(to_day, "--to") if to_day else None
    if first and last and last < first:
        raise WrongCall(Finding(f"--to {last} lies before --from {first}", "Correct one of them."))
    return first, last


def period_named(on: str | None, from_day: str | None, to_day: str | None) -> Period:
    """Read one day, or the first and the last day of a period. Raises WrongCall for both."""
    if on is None:
        return Period(*days_named(from_day, to_day))
    if from_day is not None or to_day is not None:
        what = "means one day; --from and --to mean several"
        raise WrongCall(Finding(what, "Say either.", column="--on", value=on))
    day = day_named(on, "--on")
    return Period(day, day)


def text_meant(text: str, option: str) -> str:
    """Read a reason or a name on one line. Raises WrongCall for control characters."""
    cells = import_module("credits.formats.tables.cells")
    try:
        read: str = cells.name(stripped(text))
        return read
    except cells.Unreadable as found:
        raise WrongCall(Finding(found.what, found.hint, column=option, value=text)) from None


def number_meant(text: str, origin: str) -> EntryNumber:
    """Read ``A-17``, or ``17`` for an entry of this log's own origin. Raises WrongCall."""
    word = text.strip()
    is_bare = word.isascii() and word.isdigit()
    try:
        return EntryNumber.parse(f"{origin}-{word}" if is_bare else word)
    except ValueError:
        hint = f"Entries are numbered like {origin}-17."
        raise WrongCall(Finding("is not the number of an entry", hint, value=text)) from None
