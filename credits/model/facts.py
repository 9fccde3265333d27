"""The facts of a production: frozen, plain data in the trade's words.

Codes are the production's own short names (``ana``, ``wick-1``, ``010-020``), as they are spelled
in its tables. Dates are working days. Frames are shot frames from 1.
"""

from __future__ import annotations

from collections import abc
from dataclasses import dataclass, fields
from datetime import date, datetime
from enum import StrEnum
from fractions import Fraction
from typing import Any, NamedTuple

from credits.units.film_time import FrameRate, Gauge
from credits.units.frames import Frames


class EntryNumber(NamedTuple):
    """The number of an entry: the letters of the log that first wrote it, and a count from 1."""

    origin: str
    number: int

    def __str__(self) -> str:
        return f"{self.origin}-{self.number}"

    @classmethod
    def parse(cls, text: str) -> EntryNumber:
        """Read ``A-17``. Raises ValueError for anything else."""
        origin, dash, number = text.strip().rpartition("-")
        is_count = number.isascii() and number.isdigit() and len(number) <= 18
        if not dash or not origin.isalpha() or not is_count:
            raise ValueError(text)
        return cls(origin.upper(), int(number))


class Kind(StrEnum):
    """A craft either happens in shots or on things."""

    PERFORMANCE = "performance"
    BUILD = "build"


class Purpose(StrEnum):
    """What a take is photographed for."""

    BLOCK = "block"
    REHEARSAL = "rehearsal"
    SHOOT = "shoot"


class Decision(StrEnum):
    """What was decided of a take."""

    OPEN = "open"
    ACCEPTED = "accepted"
    RETAKE = "retake"


FINISHED = "finished"
"""What people call a shot that is done."""


class ShotStatus(StrEnum):
    """How far a shot is."""

    PLANNED = "planned"
    SHOOTING = "shooting"
    DONE = "done"  # read as ``finished`` too
    OMITTED = "omitted"

    @classmethod
    def _missing_(cls, value: object) -> ShotStatus | None:
        return cls.DONE if value == FINISHED else None


class CreditWish(StrEnum):
    """Whether a person wants to be named."""

    CREDITED = "credited"
    UNCREDITED = "uncredited"


DAY_MINUTES = 600
"""A working day, where a production does not say how long its days are."""


class WeeklyTarget(NamedTuple):
    """How many frames the unit is to keep in a week, from the week of a day on; no day: from the
    beginning."""

    frames: int
    from_on: date | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Production:
    """The settings of ``production.toml``. ``expectation``: reviews may show the model of pace.

    ``sheet_words``: what departments call files, sheets and columns, and what they mean by it.
    ``names_by``: the day by which everybody is to say how their name is spelled.
    ``targets``: the earliest first. ``sentence``: what the film is about, for everybody.
    ``alphabet``: the language whose order names stand in; empty for the one that all share.
    """

    title: str
    code: str
    rate: FrameRate
    gauge: Gauge
    day_minutes: int
    expectation: bool = True
    sheet_words: tuple[tuple[str, str], ...] = ()
    names_by: date | None = None
    targets: tuple[WeeklyTarget, ...] = ()
    sentence: str = ""
    alphabet: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Person:
    """Somebody who works on the production. ``sort_name`` is None where it was never set."""

    code: str
    credit_name: str
    sort_name: str | None = None
    legal_name: str | None = None
    email: str | None = None
    isni: str | None = None
    wish: CreditWish = CreditWish.CREDITED
    name_confirmed_on: date | None = None
    same_as: str | None = None
    note: str | None = None

    @property
    def files_under(self) -> str:
        """Return the sort name; else the credit name unchanged: no surname is guessed."""
        return self.sort_name or self.credit_name


@dataclass(frozen=True, slots=True, kw_only=True)
class Engagement:
    """A person's job on the production, from and to a day, both included."""

    person: str
    department: str
    job_title: str
    starts_on: date | None = None
    ends_on: date | None = None
    guaranteed_heading: str | None = None
    billing_number: int | None = None

    def covers(self, day: date) -> bool:
        """Tell whether the day lies in the engagement; an open end reaches as far as needed."""
        return (self.starts_on or day) <= day <= (self.ends_on or day)


@dataclass(frozen=True, slots=True, kw_only=True)
class Craft:
    """A kind of work on a character.

    ``footage``: its entries claim frames. ``repair``: it makes whole what was made before.
    """

    code: str
    name: str
    department: str
    kind: Kind
    footage: bool = False
    heading: str | None = None
    repair: bool = False


# The crafts that every production begins with; its crafts table extends or renames them.
_PERFORMANCE = (
    ("voice", "Voice", "Voices", "voiced"),
    ("singing", "Singing voice", "Voices", "sang"),
    ("track-reading", "Track reading", "Animation", "read the track of"),
    ("lip-sync", "Lip sync", "Animation", "did the lip sync of"),
    ("animation", "Animation", "Animation", "animated"),
    ("animation-assist", "Animation assistance", "Animation", "helped to animate"),
    ("rigging", "Rigging", "Rigging", "rigged"),
)
_BUILD = (
    ("design", "Character design", "Art", "designed"),
    ("maquette", "Maquette sculpting", "Puppets", "sculpted a maquette of"),
    ("sculpt", "Puppet sculpting", "Puppets", "sculpted"),
    ("armature", "Armature making", "Puppets", "made the armature of"),
    ("mould", "Mould making", "Puppets", "made a mould of"),
    ("casting", "Casting", "Puppets", "cast"),
    ("faces", "Replacement faces", "Faces", "made faces of"),
    ("fabrication", "Puppet fabrication", "Puppets", "fabricated"),
    ("costume", "Costume making", "Puppets", "made the costume of"),
    ("hair", "Hair and fur", "Puppets", "made the hair of"),
    ("paint", "Puppet painting", "Puppets", "painted"),
    ("repair", "Puppet repair", "Puppet hospital", "repaired"),
)

BUILT_IN_CRAFTS: tuple[Craft, ...] = tuple(
    Craft(
        code=code,
        name=name,
        department=department,
        kind=kind,
        footage=code == "animation",
        repair=code == "repair",
    )
    for kind, crafts in ((Kind.PERFORMANCE, _PERFORMANCE), (Kind.BUILD, _BUILD))
    for code, name, department, _ in crafts
)
DID = {(code, name): did for code, name, _, did in (*_PERFORMANCE, *_BUILD)}
"""What somebody did, by the code and the name that these crafts begin with."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Character:
    """A role in the film. ``silent``: nobody is expected to voice it."""

    code: str
    name: str
    silent: bool = False
    note: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Puppet:
    """One physical copy of a character."""

    code: str
    character: str
    copy: str | None = None
    scale: str | None = None
    ready_on: date | None = None
    retired_on: date | None = None
    note: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """Something fitted to a puppet and taken off again, or seen in certain frames only."""

    code: str
    kind: str
    character: str | None = None
    note: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Fitting:
    """A part on a puppet from a day to a day, both included; no ``to_on``: still fitted."""

    part: str
    puppet: str
    from_on: date
    to_on: date | None = None

    def holds_on(self, day: date) -> bool:
        """Tell whether the part is on the puppet on that day."""
        return self.from_on <= day <= (self.to_on or day)


@dataclass(frozen=True, slots=True, kw_only=True)
class Replacement:
    """A part of a character that is seen in these frames of a shot; no take: every take."""

    shot: str
    take: int | None
    character: str
    part: str
    frames: Frames


@dataclass(frozen=True, slots=True)
class Sequence:
    """A run of shots that tell one passage of the film."""

    code: str
    name: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Shot:
    """A shot of the film and its length in frames. ``episode``: where a film has several."""

    code: str
    sequence: str
    length: int
    status: ShotStatus = ShotStatus.PLANNED
    description: str | None = None
    episode: str | None = None

    @property
    def frames(self) -> Frames:
        """Return all frames of the shot."""
        return Frames.span(1, self.length)


@dataclass(frozen=True, slots=True)
class Stage:
    """Where shots are photographed, and by which unit."""

    code: str
    unit: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Take:
    """One photographing of a shot."""

    shot: str
    number: int
    purpose: Purpose = Purpose.SHOOT
    decision: Decision = Decision.OPEN
    decided_on: date | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Work:
    """What an entry says: this person did this craft on this target, these frames, these days.

    ``frames`` None: the whole of what it names. ``share`` None: 1. ``minutes`` and
    ``wait_minutes`` are whole minutes; None: not logged.
    """

    craft: str
    person: str
    character: str | None = None
    puppet: str | None = None
    part: str | None = None
    sequence: str | None = None
    shot: str | None = None
    take: int | None = None
    frames: Frames | None = None
    poses_on: int | None = None
    share: Fraction | None = None
    started_on: date | None = None
    finished_on: date | None = None
    minutes: int | None = None
    wait_minutes: int | None = None
    stage: str | None = None
    note: str | None = None
    private: bool = False

    @property
    def day(self) -> date | None:
        """Return the day that the work was finished, else begun, else None (undated)."""
        return self.finished_on or self.started_on


@dataclass(frozen=True, slots=True, kw_only=True)
class CutClip:
    """One stretch of the current cut.

    It is on screen from film frame ``film_first`` (from 1) for ``shown`` frames. Film frame
    ``film_first + k`` shows shot frame ``source_first + floor(k * speed)`` when the speed is
    positive, ``source_last - floor(k * |speed|)`` when it is negative, and ``source_first`` when
    it is 0 (a freeze).
    """

    order: int
    film_first: int
    shown: int
    shot: str
    take: int | None
    source_first: int
    source_last: int
    speed: Fraction = Fraction(1)


@dataclass(frozen=True, slots=True, kw_only=True)
class Cut:
    """One version of the editors' cut, as brought in. ``length``: film frames, gaps too."""

    version: int
    source: str
    length: int
    clips: abc.Sequence[CutClip]
    brought_in_on: date | None = None


Subjects = tuple[tuple[str, str], ...]


_FIELDS: dict[type, tuple[str, ...]] = {}


def said_by(fact: Any) -> dict[str, Any]:
    """Return the fields of a fact by name."""
    kind = type(fact)
    if kind not in _FIELDS:
        _FIELDS[kind] = tuple(field.name for field in fields(kind))
    return {name: getattr(fact, name) for name in _FIELDS[kind]}


@dataclass(frozen=True, slots=True, kw_only=True)
class NewSettlement:
    """An answer to a check, or the taking back of one; its time is given when it is written.

    ``check`` and ``subjects`` (kind and code, in the check's order) say which question; ``facts``
    is the fingerprint of what was known when it was answered. ``taken_back``: this line takes the
    answer on the same facts back, and the question is open again.
    """

    check: str
    subjects: Subjects
    facts: str
    why: str | None = None
    settled_by: str | None = None
    taken_back: bool = False

    def written(self, settled_at: datetime) -> Settlement:
        """Return the line that it is once it is written."""
        return Settlement(settled_at=settled_at, **said_by(self))


@dataclass(frozen=True, slots=True, kw_only=True)
class Settlement(NewSettlement):
    """One line of the answers to checks, never changed once written."""

    settled_at: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class NewConfirmation:
    """A word on how a person's name is spelled; its time is given when it is written.

    ``name``: the spelling that was asked about. ``confirmed_on`` None: the day on which it is
    written. ``is_right`` False: it is not right, or its confirmation was taken back.
    ``confirmed_by``: who took the word.
    """

    person: str
    name: str
    confirmed_on: date | None = None
    is_right: bool = True
    confirmed_by: str | None = None

    def written(self, written_at: datetime) -> Confirmation:
        """Return the word that it is once it is written."""
        day, by = self.confirmed_on or written_at.date(), self.confirmed_by or None
        said = said_by(self) | {"confirmed_on": day, "confirmed_by": by}
        return Confirmation(written_at=written_at, **said)


@dataclass(frozen=True, slots=True, kw_only=True)
class Confirmation(NewConfirmation):
    """One word on how a person's name is spelled, never changed once written."""

    confirmed_on: date
    written_at: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class ProofMark:
    """What a proof says of itself, without the credits that it froze.

    ``plan``: the credit plan as TOML text, or the name of the built-in plan. ``cut``: the version
    of the cut; None: there was none. ``last_line``: the last line of the log then. ``log_lines``
    and ``changes``: how many lines and changes of tables the log held, so that what came later is
    known exactly. ``lines`` and ``people``: how many print. ``seal``: the SHA-256 of all that the
    proof says, in hexadecimal digits. ``episode``: None: it is of the whole film.
    """

    number: int
    saved_at: datetime
    saved_by: str | None
    note: str | None
    plan: str
    cut: int | None
    last_line: EntryNumber | None
    log_lines: int
    changes: int
    lines: int
    people: int
    seal: str | None = None
    episode: str | None = None


@dataclass(frozen=True, slots=True)
class Proof:
    """A numbered, frozen compilation of the credits. ``content``: the credits as JSON text."""

    mark: ProofMark
    content: str
