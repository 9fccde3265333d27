"""Facts and rows: which column holds which field of a fact, and how it is written there.

A row is plain: texts, whole numbers and None, in the order of the columns. Dates are ISO 8601,
yes or no is 1 or 0, fractions and frames are texts (``1/2``, ``1-20,25-48``). The columns stand in
the order of the facts' fields; a test compares them with the table classes.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, fields
from datetime import UTC, date, datetime
from fractions import Fraction
from functools import lru_cache
from typing import Any, Generic, TypeVar

from credits.model import facts
from credits.model.facts import Confirmation, EntryNumber, Settlement, Subjects, Work
from credits.model.log import LogLine, NewConfirmation, NewLine, NewSettlement, Value, Verb
from credits.text import fold_code
from credits.units.frames import Frames

F = TypeVar("F")
Row = tuple[Value, ...]
Codec = tuple[Callable[[Any], Value], Callable[[Any], Any]]


@lru_cache(maxsize=65536)
def date_of(text: str) -> date:
    """The day that an ISO 8601 date names."""
    return date.fromisoformat(text)


@lru_cache(maxsize=65536)
def frames_of(text: str) -> Frames:
    """The frames that a text names; equal texts share one set."""
    return Frames.parse(text)


@lru_cache(maxsize=4096)
def moment_of(text: str) -> datetime:
    """The moment, in UTC, that a text names."""
    return datetime.fromisoformat(text).astimezone(UTC)


def moment_text(moment: datetime) -> str:
    """A moment as it is written: UTC, with microseconds."""
    return moment.astimezone(UTC).isoformat(timespec="microseconds")


_fraction_of = lru_cache(maxsize=4096)(Fraction)


def subjects_text(subjects: Subjects) -> str:
    """The subjects of a check as they are written: ``[["puppet","wick-1"],["stage","S1"]]``."""
    return json.dumps([list(pair) for pair in subjects], ensure_ascii=False, separators=(",", ":"))


def subjects_of(text: str) -> Subjects:
    """The subjects that a text names. Raises ValueError when it is no list of pairs of texts."""
    found = tuple((kind, code) for kind, code in json.loads(text))
    if not all(isinstance(part, str) for pair in found for part in pair):
        raise ValueError(f"subjects {text}")
    return found


def _same(value: Any) -> Any:
    return value


# By the type of the field as facts.py writes it.
_PLAIN: Codec = (_same, _same)
_CODECS: dict[str, Codec] = {
    "str": _PLAIN,
    "int": _PLAIN,
    "bool": (int, bool),
    "date": (date.isoformat, date_of),
    "datetime": (moment_text, moment_of),
    "Fraction": (str, _fraction_of),
    "Frames": (lambda frames: frames.text, frames_of),
    "CreditWish": (str, facts.CreditWish),
    "Kind": (str, facts.Kind),
    "ShotStatus": (str, facts.ShotStatus),
    "Purpose": (str, facts.Purpose),
    "Decision": (str, facts.Decision),
    "Subjects": (subjects_text, subjects_of),
    "EntryNumber": (str, EntryNumber.parse),
}


@dataclass(frozen=True, slots=True)
class FactTable(Generic[F]):
    """A table of facts of one type. ``key`` are the places in the row that make it unique."""

    name: str
    fact: Callable[..., F]
    columns: tuple[str, ...]
    key: tuple[int, ...]
    has_code: bool
    field_names: tuple[str, ...]
    codecs: tuple[tuple[int, Codec], ...]

    def row(self, fact: F) -> Row:
        """The fact as a row."""
        values: list[Any] = [getattr(fact, name) for name in self.field_names]
        for at, (write, _) in self.codecs:
            if values[at] is not None:
                values[at] = write(values[at])
        return tuple(values)

    def read(self, row: Sequence[Any]) -> F:
        """The row as a fact. Raises ValueError when a value is not what its column holds."""
        values = list(row)
        for at, (_, read) in self.codecs:
            if values[at] is not None:
                values[at] = read(values[at])
        return self.fact(*values)

    def key_of(self, row: Row) -> Row:
        """What makes the row unique: the folded code, or the values of its key."""
        if self.has_code:
            return (fold_code(str(row[0])),)
        return tuple(row[at] for at in self.key)


def _table(name: str, fact: type[F], *key: str, **renamed: str) -> FactTable[F]:
    """``key``: the fields that make a row unique; none: its code. ``renamed``: field -> column."""
    own = fields(fact)  # type: ignore[arg-type]
    names = tuple(field.name for field in own)
    kinds = (str(field.type).removesuffix(" | None") for field in own)
    codecs = tuple((at, _CODECS[kind]) for at, kind in enumerate(kinds))
    return FactTable(
        name,
        fact,
        tuple(renamed.get(field, field) for field in names),
        tuple(names.index(field) for field in key),
        not key,
        names,
        tuple((at, codec) for at, codec in codecs if codec is not _PLAIN),
    )


# In the order in which they are written: a table stands after the tables whose codes it names.
FACT_TABLES: tuple[FactTable[Any], ...] = (
    _table("crafts", facts.Craft, code="craft"),
    _table("people", facts.Person, code="person", wish="credit_wish"),
    _table("engagements", facts.Engagement, "person", "department", "job_title", "starts_on"),
    _table("characters", facts.Character, code="character"),
    _table("puppets", facts.Puppet, code="puppet"),
    _table("parts", facts.Part, code="part"),
    _table("fittings", facts.Fitting, "part", "puppet", "from_on"),
    _table("sequences", facts.Sequence, code="sequence"),
    _table("shots", facts.Shot, code="shot", length="frames"),
    _table("stages", facts.Stage, code="stage"),
    _table("takes", facts.Take, "shot", "number", number="take"),
    _table("replacements", facts.Replacement, "shot", "take", "character", "part"),
)
CLIPS = _table("cut_clips", facts.CutClip, "order", order="clip_order")
SETTLEMENTS = _table("settlements", facts.Settlement, "check", check="check_name")
CONFIRMATIONS = _table("confirmations", facts.Confirmation, "person")
PROOFS = _table("proofs", facts.ProofMark, "number", plan="plan_text")
WORK = _table("entries", facts.Work, "craft")
_NO_WORK: Row = (*(None for _ in WORK.columns[:-1]), 0)


def line_row(number: EntryNumber, line: NewLine, logged_at: str) -> Row:
    """A new line as a row of the entries."""
    return (
        number.origin,
        number.number,
        str(line.verb),
        logged_at,
        *(_NO_WORK if line.work is None else WORK.row(line.work)),
        *((None, None) if line.corrects is None else line.corrects),
        line.logged_by,
        line.why,
        line.ref,
        line.source,
    )


def settlement_row(new: NewSettlement, settled_at: datetime) -> Row:
    """A new answer to a check as a row of the settlements."""
    settlement = Settlement(
        new.check, new.subjects, new.facts, settled_at, new.why, new.settled_by, new.taken_back
    )
    return SETTLEMENTS.row(settlement)


def confirmation_row(new: NewConfirmation, written_at: datetime) -> Row:
    """A new word on a spelling as a row of the confirmations."""
    day = new.confirmed_on or written_at.date()
    word = Confirmation(
        new.person, new.name, day, new.is_right, new.confirmed_by or None, written_at
    )
    return CONFIRMATIONS.row(word)


_VERBS = {str(verb): verb for verb in Verb}


def lines_of(rows: Iterable[Sequence[Any]]) -> Iterable[LogLine]:
    """The rows of the entries as lines; made for 125,000 of them, so written out."""
    for (
        _, origin, number, verb, logged_at,
        craft, person, character, puppet, part, sequence, shot, take, frames, poses_on, share,
        started_on, finished_on, minutes, wait_minutes, stage, note, private,
        corrects_origin, corrects_number, logged_by, why, ref, source,
    ) in rows:  # fmt: skip
        work = None
        if craft is not None:
            work = Work(
                craft,
                person,
                character,
                puppet,
                part,
                sequence,
                shot,
                take,
                None if frames is None else frames_of(frames),
                poses_on,
                None if share is None else _fraction_of(share),
                None if started_on is None else date_of(started_on),
                None if finished_on is None else date_of(finished_on),
                minutes,
                wait_minutes,
                stage,
                note,
                private == 1,
            )
        yield LogLine(
            EntryNumber(origin, number),
            _VERBS[verb],
            moment_of(logged_at),
            work,
            None if corrects_number is None else EntryNumber(corrects_origin, corrects_number),
            logged_by,
            why,
            ref,
            source,
        )
