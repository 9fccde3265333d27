"""The log itself: its lines, the cuts, the history of the reference tables, the log's own row.

All of them but the log's own row are append-only; ``triggers.py`` sees to it.
"""

from __future__ import annotations

from datetime import date, datetime

from sqlalchemy import ForeignKeyConstraint, UniqueConstraint
from sqlmodel import Field

from credits.model.written import Verb
from credits.store import tables_proofs, tables_reference
from credits.store.tables_base import (
    METADATA,
    LogTable,
    code_of,
    has_text,
    is_date,
    one_of,
    position,
    rules,
    yes_or_no,
)

__all__ = ["METADATA", "REFERENCE_TABLES", "tables_proofs", "tables_reference"]

# In the order in which they are written: a table stands after the tables whose codes it names.
REFERENCE_TABLES = (
    "crafts",
    "people",
    "engagements",
    "characters",
    "puppets",
    "parts",
    "fittings",
    "sequences",
    "shots",
    "stages",
    "takes",
    "replacements",
)

_SAID = (
    "craft, person, character, puppet, part, sequence, shot, take, frames, poses_on, share, "
    "started_on, finished_on, minutes, wait_minutes, stage, note"
)


class LogRow(LogTable, table=True):
    """The log's own row: the letters that its lines are numbered with, the day it was made."""

    __tablename__ = "log"
    __table_args__ = rules(
        a_log_has_one_row="one = 1",
        the_origin_is_letters="origin GLOB '[A-Z]*' AND origin NOT GLOB '*[^A-Z]*'",
        made_on_is_a_date=is_date("made_on"),
    )
    one: int | None = Field(default=None, primary_key=True)
    origin: str
    made_on: date


class LineRow(LogTable, table=True):
    """One line of the log. A void carries no work; amend and void name the line they correct."""

    __tablename__ = "entries"
    __table_args__ = rules(
        UniqueConstraint("origin", "number"),
        ForeignKeyConstraint(
            ["corrects_origin", "corrects_number"], ["entries.origin", "entries.number"]
        ),
        the_origin_is_letters="origin GLOB '[A-Z]*' AND origin NOT GLOB '*[^A-Z]*'",
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
        a_void_carries_no_work=(f"verb <> 'void' OR (coalesce({_SAID}) IS NULL AND private = 0)"),
        the_take_counts_from_1="take >= 1",
        a_take_and_frames_are_of_a_shot="shot IS NOT NULL OR coalesce(take, frames) IS NULL",
        the_entry_names_frames_or_leaves_them_empty="frames <> ''",
        poses_are_held_for_1_frame_or_more="poses_on >= 1",
        the_share_is_a_positive_number="share GLOB '[1-9]*' AND share NOT GLOB '*[^0-9/]*'",
        started_on_and_finished_on_are_dates=is_date("started_on", "finished_on"),
        the_work_is_finished_after_it_is_started="finished_on >= started_on",
        the_minutes_are_not_negative="minutes >= 0",
        the_wait_minutes_are_not_negative="wait_minutes >= 0",
        private_is_yes_or_no=yes_or_no("private"),
    )
    line: int | None = Field(default=None, primary_key=True)
    origin: str
    number: int
    verb: str
    logged_at: datetime
    craft: str | None = code_of("crafts.craft")
    person: str | None = code_of("people.person")
    character: str | None = code_of("characters.character")
    puppet: str | None = code_of("puppets.puppet")
    part: str | None = code_of("parts.part")
    sequence: str | None = code_of("sequences.sequence")
    shot: str | None = code_of("shots.shot")
    take: int | None
    frames: str | None
    poses_on: int | None
    share: str | None
    started_on: date | None
    finished_on: date | None
    minutes: int | None
    wait_minutes: int | None
    stage: str | None = code_of("stages.stage")
    note: str | None
    private: bool
    corrects_origin: str | None
    corrects_number: int | None
    logged_by: str | None
    why: str | None
    ref: str | None
    source: str | None


class CutVersionRow(LogTable, table=True):
    """One import of the editors' cut."""

    __tablename__ = "cut_versions"
    __table_args__ = rules(
        the_version_counts_from_1="version >= 1",
        the_length_of_the_cut_is_not_negative="length >= 0",
        brought_in_on_is_a_date=is_date("brought_in_on"),
    )
    version: int | None = Field(default=None, primary_key=True)
    source: str
    length: int
    brought_in_on: date | None


class CutClipRow(LogTable, table=True):
    """One stretch of a cut. ``speed`` is a fraction; negative: reverse, 0: a freeze.

    The editors may name a shot that the log does not have: a check says so, the cut stays whole.
    """

    __tablename__ = "cut_clips"
    __table_args__ = rules(
        UniqueConstraint("version", "clip_order"),
        the_film_counts_from_frame_1="film_first >= 1",
        the_clip_shows_at_least_1_frame="shown >= 1",
        the_take_counts_from_1="take >= 1",
        the_source_frames_run_forward="speed = '0' OR source_last >= source_first",
        the_speed_is_a_number="speed <> '' AND speed NOT GLOB '*[^-0-9/]*'",
    )
    position: int | None = position()
    version: int = Field(foreign_key="cut_versions.version")
    clip_order: int
    film_first: int
    shown: int
    shot: str
    take: int | None
    source_first: int
    source_last: int
    speed: str


class CutUseRow(LogTable, table=True):
    """From when on which version of the cut is the current one; the last row counts."""

    __tablename__ = "cut_uses"
    __table_args__ = rules()
    position: int | None = position()
    version: int = Field(foreign_key="cut_versions.version")
    used_at: datetime


class SettlementRow(LogTable, table=True):
    """An answer to a check, on the facts of its day, or the taking back of one."""

    __tablename__ = "settlements"
    __table_args__ = rules(
        the_answer_names_a_check=has_text("check_name"),
        the_subjects_are_a_list=(
            "CASE WHEN json_valid(subjects) THEN json_type(subjects) = 'array' ELSE 0 END"
        ),
        the_answer_names_the_facts_it_rests_on=has_text("facts"),
        an_answer_says_why="taken_back OR coalesce(length(trim(why)), 0) > 0",
        taken_back_is_yes_or_no=yes_or_no("taken_back"),
    )
    position: int | None = position()
    check_name: str
    subjects: str
    facts: str
    settled_at: datetime
    why: str | None
    settled_by: str | None
    taken_back: bool


class HistoryRow(LogTable, table=True):
    """One change of a reference table, written by trigger. Rows are JSON objects by column."""

    __tablename__ = "history"
    __table_args__ = rules(
        the_change_names_a_table=has_text("table_name"),
        the_verb_is_insert_update_or_delete=one_of("verb", ("insert", "update", "delete")),
    )
    position: int | None = position()
    table_name: str = Field(index=True)
    code: str = Field(index=True)
    verb: str
    old_row: str | None
    new_row: str | None
    changed_at: datetime
