"""A proof: the end credits frozen as a text.

The text is JSON with everything that prints and everything that is held, the reasons included, so
that it can be shown again years later whatever became of the log and the plan. It carries the
number of its format; the first had none, and held its reasons in words, not as data.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Mapping
from dataclasses import fields, replace
from datetime import date
from fractions import Fraction
from functools import lru_cache, partial
from typing import Any, TypeVar

from credits.billing.credits import (
    Credits,
    Held,
    Line,
    Section,
    fitting_columns,
)
from credits.billing.plan import Layout, NamedKind, Picture, Size
from credits.billing.reasons import HELD_LINE_WORDS, HELD_WORDS, Reason, ReasonKind, in_words
from credits.billing.thresholds import Reached, Threshold, ThresholdUnit
from credits.errors import Finding, LogUnusable
from credits.model.facts import EntryNumber, Proof
from credits.model.log import NewProof

T = TypeVar("T", bound=object)
WithReasons = TypeVar("WithReasons", Line, Held)
FORMAT = 3
WORDED_FORMAT = 1
"""Reasons were words, not data. In format 2 lines were of people alone."""
_SINCE_3 = frozenset(
    (
        *("named", "role_also", "note", "joined"),
        *("heading_also", "level", "space", "size", "pictures", "title", "episode"),
    )
)
"""Fields that are written where they say something."""
_KIND_OF_WORDS = {
    HELD_LINE_WORDS: ReasonKind.BELOW_THRESHOLD,
    **{words: kind for kind, words in HELD_WORDS.items()},
}


def credits_to_json(credits: Credits) -> str:
    """Return the credits as JSON text: the same credits, the same text."""
    content = {"format": FORMAT, **_fields(replace(credits, considered=()))}
    return json.dumps(content, ensure_ascii=False, separators=(",", ":"), default=_to_json)


def _to_json(value: Any) -> object:
    return str(value) if isinstance(value, date | Fraction) else _fields(value)


def _fields(value: Any) -> dict[str, object]:
    """The fields of a dataclass that are given: what is empty is not written."""
    given = {
        field.name: own
        for field in fields(value)
        if (own := getattr(value, field.name)) is not None
        and own != ()
        and not (field.name in _SINCE_3 and own == field.default)
    }
    if "entries" in given:  # json would write a number of an entry as a list of its two parts
        given["entries"] = tuple(map(str, given["entries"]))
    if "characters" in given:  # those of a line are read when they are asked for
        given["characters"] = tuple(given["characters"])
    return given


@lru_cache(maxsize=4)
def credits_from_json(content: str) -> Credits:
    """Read the credits that a text froze. Which sections considered whom is not in it.

    Raises LogUnusable for a format that only a later release can read.
    """
    read: dict[str, Any] = json.loads(content)
    number = read.get("format", WORDED_FORMAT)
    if number not in range(WORDED_FORMAT, FORMAT + 1):
        what = f"the proof is of format {number}, and this release reads up to format {FORMAT}"
        raise LogUnusable(Finding(what, "Use the release that made the proof, or a later one."))
    read.pop("format", None)
    credits: Credits = _as_made(Credits, read)
    if number == FORMAT:
        return credits
    # Of these the columns were the most that there might be, asked for or not.
    sections = (
        replace(each, columns=min(each.columns, fitting_columns(len(each.lines))))
        for each in credits.sections
    )
    return replace(credits, sections=tuple(sections))


def in_groups(seal: str) -> str:
    """Return a seal as it is read out: in groups of four digits."""
    return " ".join(seal[at : at + 4] for at in range(0, len(seal), 4))


def new_proof(
    credits: Credits, plan: str, saved_by: str | None = None, note: str | None = None
) -> NewProof:
    """Make the credits ready to be frozen. ``plan``: its TOML text, or the built-in plan's name."""
    return NewProof(
        content=credits_to_json(credits),
        plan=plan,
        lines=len(credits.lines),
        people=len(credits.printed),
        episode=credits.episode or None,
        saved_by=saved_by,
        note=note,
    )


def is_same(proof: Proof, credits: Credits, plan: str, cut: int | None) -> bool:
    """Return whether a proof is exactly of these credits, by the same plan and cut."""
    return (proof.mark.plan, proof.mark.cut) == (plan, cut) and froze(proof, credits)


def froze(proof: Proof, credits: Credits) -> bool:
    """Return whether a proof is of these credits, reasons included.

    Of a proof that holds its reasons in words, their figures and entries are compared. A title that
    was not frozen is not compared.
    """
    then, now = credits_from_json(proof.content), replace(credits, considered=())
    if not (then.title and now.title):
        then, now = replace(then, title=""), replace(now, title="")
    if json.loads(proof.content).get("format", WORDED_FORMAT) == WORDED_FORMAT:
        return _without_sentences(then) == _without_sentences(now)
    return then == now


def _without_sentences(credits: Credits) -> Credits:
    """The credits with the figures and entries of their reasons alone."""

    def bare(one: WithReasons) -> WithReasons:
        words = in_words(one.because)
        kept = Reason(kind=ReasonKind.EARLIER_TEXT, figures=words.figures, entries=words.entries)
        return replace(one, because=(kept,))

    return replace(
        credits,
        sections=tuple(replace(s, lines=tuple(map(bare, s.lines))) for s in credits.sections),
        held=tuple(map(bare, credits.held)),
        held_lines=tuple(map(bare, credits.held_lines)),
    )


def _as_made(kind: type[T], written: Mapping[str, Any]) -> T:
    """Make a value of its fields as they were written."""
    read = {name: _FIELDS[name](own) for name, own in written.items() if name in _FIELDS}
    return kind(**{**written, **read})


def _each(make: Callable[[Any], T]) -> Callable[[Iterable[Any]], tuple[T, ...]]:
    return lambda written: tuple(map(make, written))


def _held(written: Mapping[str, Any]) -> Held:
    """Somebody held; in the first format by the words of the kind."""
    fields = dict(written)
    if "reason" in fields:
        fields["kind"] = _KIND_OF_WORDS[fields.pop("reason")]
    return _as_made(Held, fields)


def _because(written: Any) -> tuple[Reason, ...]:
    """The reasons of a line or of somebody held; in the first format one, of words and figures."""
    if isinstance(written, dict):
        names = (written["rule"], written["threshold"])
        data = {name: written[name] for name in ("figures", "entries")}
        written = [{**data, "kind": ReasonKind.EARLIER_TEXT, "names": names}]
    return tuple(_as_made(Reason, one) for one in written)


# How a field is read; what is not here is as it was written.
_FIELDS: Mapping[str, Callable[[Any], Any]] = {
    "sections": _each(partial(_as_made, Section)),
    "lines": _each(partial(_as_made, Line)),
    "held": _each(_held),
    "held_lines": _each(_held),
    "because": _because,
    "layout": Layout,
    "size": Size,
    "named": NamedKind,
    "pictures": _each(lambda written: Picture(**written)),
    "kind": ReasonKind,
    "entries": _each(EntryNumber.parse),
    "days": _each(date.fromisoformat),
    "figures": _each(tuple),
    "reached": partial(_as_made, Reached),
    "threshold": partial(_as_made, Threshold),
    "least": Fraction,
    "unit": ThresholdUnit,
    "figure": Fraction,
    **dict.fromkeys(("order_of_appearance", "characters", "headings", "names"), tuple),
}
