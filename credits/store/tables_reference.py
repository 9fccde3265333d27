"""The reference tables: people, characters, shots and what else the entries name.

The first column of most is a code. A code is unique without regard to case: SQLite folds only
ASCII, so the folded code is stored beside it (``..._key``) and is unique itself. The columns stand
in the order of the facts' fields (``columns.py``); a test compares the two.
"""

from __future__ import annotations

from datetime import date

from sqlalchemy import ForeignKey, Index, String, UniqueConstraint, text
from sqlmodel import Field

from credits.model.facts import CreditWish, Decision, Kind, Purpose, ShotStatus
from credits.store.tables_base import (
    LogTable,
    code_of,
    has_text,
    is_date,
    one_of,
    position,
    rules,
    yes_or_no,
)


class CraftRow(LogTable, table=True):
    """A kind of work on a character."""

    __tablename__ = "crafts"
    __table_args__ = rules(
        the_craft_has_a_code=has_text("craft"),
        the_craft_has_a_name_and_a_department=has_text("name", "department"),
        the_kind_is_performance_or_build=one_of("kind", Kind),
        footage_is_yes_or_no=yes_or_no("footage"),
    )
    position: int | None = position()
    craft: str = Field(unique=True)
    name: str
    department: str
    kind: str
    footage: bool
    heading: str | None
    craft_key: str = Field(unique=True)


class PersonRow(LogTable, table=True):
    """Somebody who works on the production."""

    __tablename__ = "people"
    __table_args__ = rules(
        the_person_has_a_code=has_text("person"),
        the_person_has_a_credit_name=has_text("credit_name"),
        the_credit_wish_is_credited_or_uncredited=one_of("credit_wish", CreditWish),
        name_confirmed_on_is_a_date=is_date("name_confirmed_on"),
        nobody_is_the_same_as_themselves="same_as <> person",
    )
    position: int | None = position()
    person: str = Field(unique=True)
    credit_name: str
    sort_name: str | None
    legal_name: str | None
    email: str | None
    isni: str | None
    credit_wish: str
    name_confirmed_on: date | None
    # A list of people may name somebody before their own row comes: looked at when all are in.
    same_as: str | None = Field(
        sa_type=String,
        sa_column_args=(ForeignKey("people.person", deferrable=True, initially="DEFERRED"),),
    )
    note: str | None
    person_key: str = Field(unique=True)


class EngagementRow(LogTable, table=True):
    """A person's job on the production."""

    __tablename__ = "engagements"
    __table_args__ = rules(
        Index(
            "uq_engagements_key",
            "person",
            "department",
            "job_title",
            text("coalesce(starts_on, '')"),
            unique=True,
        ),
        the_engagement_has_a_department_and_a_job_title=has_text("department", "job_title"),
        starts_on_and_ends_on_are_dates=is_date("starts_on", "ends_on"),
        the_engagement_ends_after_it_starts="ends_on >= starts_on",
        the_billing_number_counts_from_1="billing_number >= 1",
    )
    position: int | None = position()
    person: str = code_of("people.person")
    department: str
    job_title: str
    starts_on: date | None
    ends_on: date | None
    guaranteed_heading: str | None
    billing_number: int | None


class CharacterRow(LogTable, table=True):
    """A role in the film."""

    __tablename__ = "characters"
    __table_args__ = rules(
        the_character_has_a_code=has_text("character"),
        the_character_has_a_name=has_text("name"),
        silent_is_yes_or_no=yes_or_no("silent"),
    )
    position: int | None = position()
    character: str = Field(unique=True)
    name: str
    silent: bool
    note: str | None
    character_key: str = Field(unique=True)


class PuppetRow(LogTable, table=True):
    """One physical copy of a character."""

    __tablename__ = "puppets"
    __table_args__ = rules(
        the_puppet_has_a_code=has_text("puppet"),
        ready_on_and_retired_on_are_dates=is_date("ready_on", "retired_on"),
    )
    position: int | None = position()
    puppet: str = Field(unique=True)
    character: str = code_of("characters.character")
    copy_name: str | None = Field(sa_column_kwargs={"name": "copy"})
    scale: str | None
    ready_on: date | None
    retired_on: date | None
    note: str | None
    puppet_key: str = Field(unique=True)


class PartRow(LogTable, table=True):
    """Something fitted to a puppet, or seen in certain frames."""

    __tablename__ = "parts"
    __table_args__ = rules(
        the_part_has_a_code=has_text("part"),
        the_part_has_a_kind=has_text("kind"),
    )
    position: int | None = position()
    part: str = Field(unique=True)
    kind: str
    character: str | None = code_of("characters.character")
    note: str | None
    part_key: str = Field(unique=True)


class FittingRow(LogTable, table=True):
    """A part on a puppet from a day to a day."""

    __tablename__ = "fittings"
    __table_args__ = rules(
        UniqueConstraint("part", "puppet", "from_on"),
        from_on_and_to_on_are_dates=is_date("from_on", "to_on"),
        the_fitting_ends_after_it_begins="to_on >= from_on",
    )
    position: int | None = position()
    part: str = code_of("parts.part")
    puppet: str = code_of("puppets.puppet")
    from_on: date
    to_on: date | None


class SequenceRow(LogTable, table=True):
    """A run of shots."""

    __tablename__ = "sequences"
    __table_args__ = rules(the_sequence_has_a_code=has_text("sequence"))
    position: int | None = position()
    sequence: str = Field(unique=True)
    name: str | None
    sequence_key: str = Field(unique=True)


class ShotRow(LogTable, table=True):
    """A shot and its length in frames."""

    __tablename__ = "shots"
    __table_args__ = rules(
        the_shot_has_a_code=has_text("shot"),
        the_shot_has_at_least_1_frame="frames >= 1",
        the_status_is_planned_shooting_done_or_omitted=one_of("status", ShotStatus),
    )
    position: int | None = position()
    shot: str = Field(unique=True)
    sequence: str = code_of("sequences.sequence")
    frames: int
    status: str
    description: str | None
    shot_key: str = Field(unique=True)


class StageRow(LogTable, table=True):
    """Where shots are photographed."""

    __tablename__ = "stages"
    __table_args__ = rules(the_stage_has_a_code=has_text("stage"))
    position: int | None = position()
    stage: str = Field(unique=True)
    unit: str | None
    stage_key: str = Field(unique=True)


class TakeRow(LogTable, table=True):
    """One photographing of a shot."""

    __tablename__ = "takes"
    __table_args__ = rules(
        UniqueConstraint("shot", "take"),
        the_take_counts_from_1="take >= 1",
        the_purpose_is_block_rehearsal_or_shoot=one_of("purpose", Purpose),
        the_decision_is_open_accepted_or_retake=one_of("decision", Decision),
        decided_on_is_a_date=is_date("decided_on"),
    )
    position: int | None = position()
    shot: str = code_of("shots.shot")
    take: int
    purpose: str
    decision: str
    decided_on: date | None


class ReplacementRow(LogTable, table=True):
    """A part of a character that is seen in these frames of a shot."""

    __tablename__ = "replacements"
    __table_args__ = rules(
        Index(
            "uq_replacements_key",
            "shot",
            text("coalesce(take, 0)"),
            "character",
            "part",
            unique=True,
        ),
        the_take_counts_from_1="take >= 1",
        the_replacement_names_frames="frames <> ''",
    )
    position: int | None = position()
    shot: str = code_of("shots.shot")
    take: int | None
    character: str = code_of("characters.character")
    part: str = code_of("parts.part")
    frames: str
