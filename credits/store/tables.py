"""The log, defined once: tables, constraints, indexes, and which fact a row holds.

Everything else is made from these classes: statements, triggers, a new log, and the facts that are
read. A rule is said in the words of SQL that every engine knows; ``is_date(...)``, ``is_list(...)``
and their like are asked of each engine in words of its own (``sqlite.py``). An empty column breaks
no rule.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Iterable, Mapping
from datetime import UTC, date, datetime
from fractions import Fraction
from functools import lru_cache, partial
from typing import Any, ClassVar

import sqlalchemy as sa
from sqlalchemy.orm import registry
from sqlalchemy.types import TypeEngine
from sqlmodel import Field, SQLModel

from credits.model import facts
from credits.model.log import REFERENCE_TABLES, ListCorrection, Verb
from credits.units.frames import Frames

# --- how values are kept: a database of any engine keeps texts and whole numbers. A day and a
# moment are ISO 8601, yes or no is 1 or 0, frames and fractions are as people write them. None is
# NULL in every column.

Codec = Callable[[Any], Any]


class Kept(sa.TypeDecorator[Any]):
    """A value that a column keeps as a text, or as a whole number.

    write: makes what is kept. read: makes the value again; raises ValueError, TypeError or
    CreditsError where no program of ours wrote what is kept. Equal values are read once: a log of
    100,000 entries has a few hundred days.
    """

    impl: TypeEngine[Any] | type[TypeEngine[Any]] = sa.Text
    cache_ok = True

    def __init__(self, write: Codec, read: Codec, impl: type[TypeEngine[Any]] = sa.Text) -> None:
        super().__init__()
        self.impl = impl()
        self.write = write
        self.read = lru_cache(maxsize=65536)(lambda kept: None if kept is None else read(kept))

    def bind_processor(self, dialect: sa.Dialect) -> Codec:  # noqa: ARG002
        """Write a value that goes to the database."""
        write = self.write
        return lambda value: None if value is None else write(value)

    def result_processor(self, dialect: sa.Dialect, coltype: object) -> Codec:  # noqa: ARG002
        """Read a value that comes from the database."""
        return self.read


def _subjects(text: str) -> facts.Subjects:
    found = tuple((kind, code) for kind, code in json.loads(text))
    if not all(isinstance(part, str) for pair in found for part in pair):
        raise ValueError(f"subjects {text}")
    return found


KEPT_DAY = Kept(date.isoformat, date.fromisoformat)  # 2026-03-02
KEPT_MOMENT = Kept(  # in UTC, whatever its time zone is: 2026-03-02T18:05:09.000000+00:00
    lambda moment: moment.astimezone(UTC).isoformat(timespec="microseconds"),
    lambda text: datetime.fromisoformat(text).astimezone(UTC),
)
KEPT_FRACTION = Kept(str, Fraction)  # 1/2
KEPT_FRAMES = Kept(lambda frames: frames.text, Frames.parse)  # 1-20,25-48
KEPT_NUMBER = Kept(str, facts.EntryNumber.parse)
KEPT_SUBJECTS = Kept(  # [["puppet","wick-1"],["stage","S1"]]
    partial(json.dumps, ensure_ascii=False, separators=(",", ":")), _subjects
)
KEPT_YES_NO = Kept(int, bool, sa.Integer)  # 1 or 0

# --- the tables

# Batch migrations must be able to name every constraint that they rebuild.
NAMES = {
    "ix": "ix_%(table_name)s_%(column_0_N_name)s",
    "uq": "uq_%(table_name)s_%(column_0_N_name)s",
    "ck": "ck_%(table_name)s_%(constraint_name)s",
    "fk": "fk_%(table_name)s_%(column_0_name)s_%(referred_table_name)s",
    "pk": "pk_%(table_name)s",
}


class LogTable(
    SQLModel, registry=registry(metadata=sa.MetaData(naming_convention=NAMES)), defer_build=True
):
    """The common base: one metadata with the names above, apart from SQLModel's own.

    ``fact``: what a row holds, with a column for each field. ``renamed``: field -> column, where
    the two are not called the same.
    """

    fact: ClassVar[type[Any]]
    renamed: ClassVar[Mapping[str, str]] = {}


class OrderedTable(LogTable):
    """A table whose rows are read in the order of first writing."""

    position: int | None = Field(default=None, primary_key=True)


METADATA = LogTable.metadata

# Alembic's own table: the version of the log.
VERSION = sa.Table(
    "alembic_version",
    sa.MetaData(),
    sa.Column("version_num", sa.String, nullable=False),
    sa.PrimaryKeyConstraint("version_num", name="alembic_version_pkc"),
)


def rules(*others: sa.UniqueConstraint | sa.Index | sa.ForeignKeyConstraint, **checks: str) -> Any:
    """Make the ``__table_args__`` of a table.

    The name of a check is its wording: when it refuses a row, ``writer.py`` shows the name to
    people as "the take counts from 1".
    """
    return (*others, *(sa.CheckConstraint(sql, name=name) for name, sql in checks.items()))


def are_dates(*columns: str) -> str:
    """Ask that each column holds an ISO 8601 date of the calendar, or nothing."""
    return " AND ".join(f"is_date({column})" for column in columns)


def one_of(column: str, words: Iterable[str]) -> str:
    """Ask that the column holds one of the words, or nothing."""
    return f"{column} IN ({', '.join(repr(str(word)) for word in words)})"


def yes_or_no(column: str) -> str:
    """Ask that the column holds 0 or 1."""
    return f"{column} IN (0, 1)"


def has_text(*columns: str) -> str:
    """Ask that each column holds more than blanks."""
    return " AND ".join(f"length(trim({column})) > 0" for column in columns)


class CraftRecord(OrderedTable, table=True):
    """A kind of work on a character."""

    __tablename__ = "crafts"
    fact = facts.Craft
    renamed = {"code": "craft"}
    __table_args__ = rules(
        the_craft_has_a_code=has_text("craft"),
        the_craft_has_a_name_and_a_department=has_text("name", "department"),
        the_kind_is_performance_or_build=one_of("kind", facts.Kind),
        footage_is_yes_or_no=yes_or_no("footage"),
    )
    craft: str = Field(unique=True)
    name: str
    department: str
    kind: facts.Kind = Field(sa_type=Kept(str, facts.Kind))
    footage: bool = Field(sa_type=KEPT_YES_NO)
    heading: str | None
    craft_key: str = Field(unique=True)
    # Came last, with its rule, to a table that was there.
    repair: bool = Field(
        sa_type=KEPT_YES_NO,
        sa_column_kwargs={"server_default": sa.text("0")},
        sa_column_args=(sa.CheckConstraint(yes_or_no("repair"), name="repair_is_yes_or_no"),),
    )


class PersonRecord(OrderedTable, table=True):
    """Somebody who works on the production."""

    __tablename__ = "people"
    fact = facts.Person
    renamed = {"code": "person", "wish": "credit_wish"}
    __table_args__ = rules(
        the_person_has_a_code=has_text("person"),
        the_person_has_a_credit_name=has_text("credit_name"),
        the_credit_wish_is_credited_or_uncredited=one_of("credit_wish", facts.CreditWish),
        name_confirmed_on_is_a_date=are_dates("name_confirmed_on"),
        nobody_is_the_same_as_themselves="same_as <> person",
    )
    person: str = Field(unique=True)
    credit_name: str
    sort_name: str | None
    legal_name: str | None
    email: str | None
    isni: str | None
    credit_wish: facts.CreditWish = Field(sa_type=Kept(str, facts.CreditWish))
    name_confirmed_on: date | None = Field(sa_type=KEPT_DAY)
    # A list of people may name somebody before their own row comes: looked at when all are in.
    same_as: str | None = Field(
        sa_type=sa.String,
        sa_column_args=(sa.ForeignKey("people.person", deferrable=True, initially="DEFERRED"),),
    )
    note: str | None
    person_key: str = Field(unique=True)


class EngagementRecord(OrderedTable, table=True):
    """A person's job on the production."""

    __tablename__ = "engagements"
    fact = facts.Engagement
    __table_args__ = rules(
        sa.Index(
            "uq_engagements_key",
            "person",
            "department",
            "job_title",
            sa.text("coalesce(starts_on, '')"),
            unique=True,
        ),
        the_engagement_has_a_department_and_a_job_title=has_text("department", "job_title"),
        starts_on_and_ends_on_are_dates=are_dates("starts_on", "ends_on"),
        the_engagement_ends_after_it_starts="ends_on >= starts_on",
        the_billing_number_counts_from_1="billing_number >= 1",
    )
    person: str = Field(foreign_key="people.person")
    department: str
    job_title: str
    starts_on: date | None = Field(sa_type=KEPT_DAY)
    ends_on: date | None = Field(sa_type=KEPT_DAY)
    guaranteed_heading: str | None
    billing_number: int | None


class CharacterRecord(OrderedTable, table=True):
    """A role in the film."""

    __tablename__ = "characters"
    fact = facts.Character
    renamed = {"code": "character"}
    __table_args__ = rules(
        the_character_has_a_code=has_text("character"),
        the_character_has_a_name=has_text("name"),
        silent_is_yes_or_no=yes_or_no("silent"),
    )
    character: str = Field(unique=True)
    name: str
    silent: bool = Field(sa_type=KEPT_YES_NO)
    note: str | None
    character_key: str = Field(unique=True)


class PuppetRecord(OrderedTable, table=True):
    """One physical copy of a character."""

    __tablename__ = "puppets"
    fact = facts.Puppet
    renamed = {"code": "puppet"}
    __table_args__ = rules(
        the_puppet_has_a_code=has_text("puppet"),
        ready_on_and_retired_on_are_dates=are_dates("ready_on", "retired_on"),
    )
    puppet: str = Field(unique=True)
    character: str = Field(foreign_key="characters.character")
    copy_name: str | None = Field(sa_column_kwargs={"name": "copy"})
    scale: str | None
    ready_on: date | None = Field(sa_type=KEPT_DAY)
    retired_on: date | None = Field(sa_type=KEPT_DAY)
    note: str | None
    puppet_key: str = Field(unique=True)


class PartRecord(OrderedTable, table=True):
    """Something fitted to a puppet, or seen in certain frames."""

    __tablename__ = "parts"
    fact = facts.Part
    renamed = {"code": "part"}
    __table_args__ = rules(
        the_part_has_a_code=has_text("part"),
        the_part_has_a_kind=has_text("kind"),
    )
    part: str = Field(unique=True)
    kind: str
    character: str | None = Field(foreign_key="characters.character")
    note: str | None
    part_key: str = Field(unique=True)


class FittingRecord(OrderedTable, table=True):
    """A part on a puppet from a day to a day."""

    __tablename__ = "fittings"
    fact = facts.Fitting
    __table_args__ = rules(
        sa.UniqueConstraint("part", "puppet", "from_on"),
        from_on_and_to_on_are_dates=are_dates("from_on", "to_on"),
        the_fitting_ends_after_it_begins="to_on >= from_on",
    )
    part: str = Field(foreign_key="parts.part")
    puppet: str = Field(foreign_key="puppets.puppet")
    from_on: date = Field(sa_type=KEPT_DAY)
    to_on: date | None = Field(sa_type=KEPT_DAY)


class SequenceRecord(OrderedTable, table=True):
    """A run of shots."""

    __tablename__ = "sequences"
    fact = facts.Sequence
    renamed = {"code": "sequence"}
    __table_args__ = rules(the_sequence_has_a_code=has_text("sequence"))
    sequence: str = Field(unique=True)
    name: str | None
    sequence_key: str = Field(unique=True)


class ShotRecord(OrderedTable, table=True):
    """A shot and its length in frames."""

    __tablename__ = "shots"
    fact = facts.Shot
    renamed = {"code": "shot", "length": "frames"}
    __table_args__ = rules(
        the_shot_has_a_code=has_text("shot"),
        the_shot_has_at_least_1_frame="frames >= 1",
        the_status_is_planned_shooting_done_or_omitted=one_of("status", facts.ShotStatus),
    )
    shot: str = Field(unique=True)
    sequence: str = Field(foreign_key="sequences.sequence")
    frames: int
    status: facts.ShotStatus = Field(sa_type=Kept(str, facts.ShotStatus))
    description: str | None
    shot_key: str = Field(unique=True)


class StageRecord(OrderedTable, table=True):
    """Where shots are photographed."""

    __tablename__ = "stages"
    fact = facts.Stage
    renamed = {"code": "stage"}
    __table_args__ = rules(the_stage_has_a_code=has_text("stage"))
    stage: str = Field(unique=True)
    unit: str | None
    stage_key: str = Field(unique=True)


class TakeRecord(OrderedTable, table=True):
    """One photographing of a shot."""

    __tablename__ = "takes"
    fact = facts.Take
    renamed = {"number": "take"}
    __table_args__ = rules(
        sa.UniqueConstraint("shot", "take"),
        the_take_counts_from_1="take >= 1",
        the_purpose_is_block_rehearsal_or_shoot=one_of("purpose", facts.Purpose),
        the_decision_is_open_accepted_or_retake=one_of("decision", facts.Decision),
        decided_on_is_a_date=are_dates("decided_on"),
    )
    shot: str = Field(foreign_key="shots.shot")
    take: int
    purpose: facts.Purpose = Field(sa_type=Kept(str, facts.Purpose))
    decision: facts.Decision = Field(sa_type=Kept(str, facts.Decision))
    decided_on: date | None = Field(sa_type=KEPT_DAY)


class ReplacementRecord(OrderedTable, table=True):
    """A part of a character that is seen in these frames of a shot."""

    __tablename__ = "replacements"
    fact = facts.Replacement
    __table_args__ = rules(
        sa.Index(
            "uq_replacements_key",
            "shot",
            sa.text("coalesce(take, 0)"),
            "character",
            "part",
            unique=True,
        ),
        the_take_counts_from_1="take >= 1",
        the_replacement_names_frames="frames <> ''",
    )
    shot: str = Field(foreign_key="shots.shot")
    take: int | None
    character: str = Field(foreign_key="characters.character")
    part: str = Field(foreign_key="parts.part")
    frames: Frames = Field(sa_type=KEPT_FRAMES)


class ConfirmationRecord(OrderedTable, table=True):
    """A word on how a name is spelled. A date in the people table writes one by trigger."""

    __tablename__ = "confirmations"
    fact = facts.Confirmation
    __table_args__ = rules(
        the_confirmed_name_has_text=has_text("name"),
        confirmed_on_is_a_date=are_dates("confirmed_on"),
        is_right_is_yes_or_no=yes_or_no("is_right"),
    )
    person: str = Field(foreign_key="people.person")
    name: str
    confirmed_on: date = Field(sa_type=KEPT_DAY)
    is_right: bool = Field(sa_type=KEPT_YES_NO)
    confirmed_by: str | None
    written_at: datetime = Field(sa_type=KEPT_MOMENT)


class ProofRecord(LogTable, table=True):
    """A frozen compilation of the credits, and how far the log went when it was made."""

    __tablename__ = "proofs"
    fact = facts.ProofMark
    renamed = {"plan": "plan_text"}
    __table_args__ = rules(
        the_number_counts_from_1="number >= 1",
        the_proof_names_its_plan=has_text("plan_text"),
        the_log_lines_are_not_negative="log_lines >= 0",
        the_changes_are_not_negative="changes >= 0",
        the_lines_are_not_negative="lines >= 0",
        the_people_are_not_negative="people >= 0",
        the_content_is_an_object="is_object(content)",
    )
    number: int | None = Field(default=None, primary_key=True)
    saved_at: datetime = Field(sa_type=KEPT_MOMENT)
    saved_by: str | None
    note: str | None
    plan_text: str
    cut: int | None = Field(foreign_key="cut_versions.version")
    last_line: facts.EntryNumber | None = Field(sa_type=KEPT_NUMBER)
    log_lines: int
    changes: int
    lines: int
    people: int
    content: str


_SAID = (
    "craft, person, character, puppet, part, sequence, shot, take, frames, poses_on, share, "
    "started_on, finished_on, minutes, wait_minutes, stage, note"
)


class LogRecord(LogTable, table=True):
    """The log's own row: the letters that its lines are numbered with, the day it was made."""

    __tablename__ = "log"
    __table_args__ = rules(
        a_log_has_one_row="one = 1",
        the_origin_is_letters="is_letters(origin)",
        made_on_is_a_date=are_dates("made_on"),
    )
    one: int | None = Field(default=None, primary_key=True)
    origin: str
    made_on: date = Field(sa_type=KEPT_DAY)


class LineRecord(LogTable, table=True):
    """One line of the log. A void carries no work; amend and void name the line they correct."""

    __tablename__ = "entries"
    fact = facts.Work
    __table_args__ = rules(
        sa.UniqueConstraint("origin", "number"),
        sa.ForeignKeyConstraint(
            ["corrects_origin", "corrects_number"], ["entries.origin", "entries.number"]
        ),
        the_origin_is_letters="is_letters(origin)",
        the_number_counts_from_1="number >= 1",
        the_verb_is_record_amend_or_void=one_of("verb", Verb),
        a_record_corrects_no_line_and_an_amend_or_void_names_the_line_it_corrects=(
            "(verb = 'record') = (corrects_number IS NULL)"
            " AND (corrects_origin IS NULL) = (corrects_number IS NULL)"
        ),
        a_line_corrects_an_earlier_line="corrects_origin <> origin OR corrects_number < number",
        a_record_or_amend_names_a_craft_and_a_person=(
            "verb = 'void' OR (craft IS NOT NULL AND person IS NOT NULL)"
        ),
        a_void_carries_no_work=f"verb <> 'void' OR (no_value({_SAID}) AND private = 0)",
        the_take_counts_from_1="take >= 1",
        a_take_and_frames_are_of_a_shot="shot IS NOT NULL OR no_value(take, frames)",
        the_entry_names_frames_or_leaves_them_empty="frames <> ''",
        poses_are_held_for_1_frame_or_more="poses_on >= 1",
        the_share_is_a_positive_number="is_positive(share)",
        started_on_and_finished_on_are_dates=are_dates("started_on", "finished_on"),
        the_work_is_finished_after_it_is_started="finished_on >= started_on",
        the_minutes_are_not_negative="minutes >= 0",
        the_wait_minutes_are_not_negative="wait_minutes >= 0",
        private_is_yes_or_no=yes_or_no("private"),
    )
    line: int | None = Field(default=None, primary_key=True)
    origin: str
    number: int
    verb: Verb = Field(sa_type=Kept(str, Verb))
    logged_at: datetime = Field(sa_type=KEPT_MOMENT)
    craft: str | None = Field(foreign_key="crafts.craft")
    person: str | None = Field(foreign_key="people.person")
    character: str | None = Field(foreign_key="characters.character")
    puppet: str | None = Field(foreign_key="puppets.puppet")
    part: str | None = Field(foreign_key="parts.part")
    sequence: str | None = Field(foreign_key="sequences.sequence")
    shot: str | None = Field(foreign_key="shots.shot")
    take: int | None
    frames: Frames | None = Field(sa_type=KEPT_FRAMES)
    poses_on: int | None
    share: Fraction | None = Field(sa_type=KEPT_FRACTION)
    started_on: date | None = Field(sa_type=KEPT_DAY)
    finished_on: date | None = Field(sa_type=KEPT_DAY)
    minutes: int | None
    wait_minutes: int | None
    stage: str | None = Field(foreign_key="stages.stage")
    note: str | None
    private: bool = Field(sa_type=KEPT_YES_NO)
    corrects_origin: str | None
    corrects_number: int | None
    logged_by: str | None
    why: str | None
    ref: str | None
    source: str | None
    sheet: str | None


class CutVersionRecord(LogTable, table=True):
    """One import of the editors' cut."""

    __tablename__ = "cut_versions"
    __table_args__ = rules(
        the_version_counts_from_1="version >= 1",
        the_length_of_the_cut_is_not_negative="length >= 0",
        brought_in_on_is_a_date=are_dates("brought_in_on"),
    )
    version: int | None = Field(default=None, primary_key=True)
    source: str
    length: int
    brought_in_on: date | None = Field(sa_type=KEPT_DAY)


class CutClipRecord(OrderedTable, table=True):
    """One stretch of a cut. ``speed`` is a fraction; negative: reverse, 0: a freeze.

    The editors may name a shot that the log does not have: a check says so, the cut stays whole.
    """

    __tablename__ = "cut_clips"
    fact = facts.CutClip
    renamed = {"order": "clip_order"}
    __table_args__ = rules(
        sa.UniqueConstraint("version", "clip_order"),
        the_film_counts_from_frame_1="film_first >= 1",
        the_clip_shows_at_least_1_frame="shown >= 1",
        the_take_counts_from_1="take >= 1",
        the_source_frames_run_forward="speed = '0' OR source_last >= source_first",
        the_speed_is_a_number="is_fraction(speed)",
    )
    version: int = Field(foreign_key="cut_versions.version")
    clip_order: int
    film_first: int
    shown: int
    shot: str
    take: int | None
    source_first: int
    source_last: int
    speed: Fraction = Field(sa_type=KEPT_FRACTION)


class CutUseRecord(OrderedTable, table=True):
    """From when on which version of the cut is the current one; the last row counts."""

    __tablename__ = "cut_uses"
    __table_args__ = rules()
    version: int = Field(foreign_key="cut_versions.version")
    used_at: datetime = Field(sa_type=KEPT_MOMENT)


class SettlementRecord(OrderedTable, table=True):
    """An answer to a check, on the facts of its day, or the taking back of one."""

    __tablename__ = "settlements"
    fact = facts.Settlement
    renamed = {"check": "check_name"}
    __table_args__ = rules(
        the_answer_names_a_check=has_text("check_name"),
        the_subjects_are_a_list="is_list(subjects)",
        the_answer_names_the_facts_it_rests_on=has_text("facts"),
        an_answer_says_why="is_yes(taken_back) OR coalesce(length(trim(why)), 0) > 0",
        taken_back_is_yes_or_no=yes_or_no("taken_back"),
    )
    check_name: str
    subjects: facts.Subjects = Field(sa_type=KEPT_SUBJECTS)
    facts: str
    settled_at: datetime = Field(sa_type=KEPT_MOMENT)
    why: str | None
    settled_by: str | None
    taken_back: bool = Field(sa_type=KEPT_YES_NO)


class ListCorrectionRecord(OrderedTable, table=True):
    """Why a row of a list was voided, or another took its place; what it said is in the history."""

    __tablename__ = "list_corrections"
    fact = ListCorrection
    renamed = {"table": "table_name", "row": "row_key"}
    __table_args__ = rules(
        the_correction_names_a_table=has_text("table_name"),
        the_correction_names_a_row=has_text("row_key"),
        the_correction_says_why=has_text("why"),
    )
    table_name: str
    row_key: str
    instead: str | None
    why: str
    corrected_by: str | None
    written_at: datetime = Field(sa_type=KEPT_MOMENT)


class HistoryRecord(OrderedTable, table=True):
    """One change of a reference table, written by trigger. Rows are JSON objects by column."""

    __tablename__ = "history"
    __table_args__ = rules(
        the_change_names_a_table=has_text("table_name"),
        the_verb_is_insert_update_or_delete=one_of("verb", ("insert", "update", "delete")),
    )
    table_name: str = Field(index=True)
    code: str = Field(index=True)
    verb: str
    old_row: str | None
    new_row: str | None
    changed_at: datetime = Field(sa_type=KEPT_MOMENT)


# Rows of the reference tables may change, and how they did is kept; all other rows stay for ever.
WITH_HISTORY = ("log", *REFERENCE_TABLES)
APPEND_ONLY = tuple(name for name in METADATA.tables if name not in WITH_HISTORY)


def table_of(record: type[LogTable]) -> sa.Table:
    """Return the table of a table class."""
    return METADATA.tables[str(record.__tablename__)]


def said_columns(table: sa.Table) -> list[sa.Column[Any]]:
    """List the columns that hold what somebody said: not the row's key, no folded code."""
    return [c for c in table.columns if not c.primary_key and not c.name.endswith("_key")]


def key_columns(table: sa.Table) -> tuple[str, ...]:
    """List the columns that make a row unique in a table whose rows have no code; else none."""
    keys = [
        tuple(c.columns.keys()) for c in table.constraints if isinstance(c, sa.UniqueConstraint)
    ]
    keys += [tuple(_bare(str(e)) for e in i.expressions) for i in table.indexes if i.unique]
    return keys[0] if len(keys) == 1 else ()


def _bare(expression: str) -> str:
    """Return the column that ``shots.shot`` or ``coalesce(take, 0)`` speaks of."""
    return re.sub(r"^coalesce\((\w+),.*|^\w+\.(\w+)$", r"\1\2", expression)
