"""Words of a command that name something in the log: found without regard to case, or refused with
the nearest there is."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING, TypeVar

from credits.errors import Finding, WrongCall
from credits.text import nearest

if TYPE_CHECKING:
    from datetime import date
    from typing import Protocol

    from credits.model.ledger import Ledger

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
    from credits.exchange.values import stripped
    from credits.text import fold_code

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
    from datetime import date, timedelta

    word = text.strip().lower()
    if word not in ("today", "yesterday"):
        return None
    return (date.today() - timedelta(days=int(word == "yesterday"))).isoformat()


def day_named(text: str, option: str) -> date:
    """A day: 2026-03-02, ``today`` or ``yesterday``. Raises WrongCall."""
    from credits.exchange.days import day
    from credits.exchange.values import Unreadable

    try:
        return day(relative_day(text) or text.strip())
    except Unreadable as found:
        hint = f"{found.hint} Or write today or yesterday."
        raise WrongCall(Finding(found.what, hint, column=option, value=text)) from None
