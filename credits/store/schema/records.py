"""The log, described once: its tables, their columns and rules, and which fact a row holds.

The table of a fact has a column for each of its fields. Everything else is made from what stands
here: the table classes, statements, triggers, a new log, and the facts that are read. A rule is
said in the words of SQL that every engine knows; ``is_date(...)``, ``is_list(...)`` and their like
are asked of each engine in words of its own (``engines/table_words.py``). An empty column breaks no
rule.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, fields
from datetime import UTC, date, datetime
from enum import StrEnum
from fractions import Fraction
from functools import cache, lru_cache, partial
from types import UnionType
from typing import Any, get_args, get_type_hints

from credits.model import facts
from credits.model.log import REFERENCE_TABLES, ListCorrection, Verb
from credits.units.frames import Frames

# --- how values are kept: a database of any engine keeps texts and whole numbers. A day and a
# moment are ISO 8601, yes or no is 1 or 0, frames and fractions are as people write them. None is
# NULL in every column.

Convert = Callable[[Any], Any]


class Codec:
    """How a value is kept that is not kept as it is.

    write: makes what is kept. read: makes the value again, None of NULL; raises ValueError,
    TypeError or CreditsError where no program of ours wrote what is kept. Equal values are read
    once: a log of 100,000 entries has a few hundred days. kept: what is kept, a text or a whole
    number.
    """

    def __init__(self, write: Convert, read: Convert, kept: type[str] | type[int] = str) -> None:
        self.write = write
        self.read = lru_cache(maxsize=65536)(lambda kept: None if kept is None else read(kept))
        self.kept = kept


def _subjects(text: str) -> facts.Subjects:
    found = tuple((kind, code) for kind, code in json.loads(text))
    if not all(isinstance(part, str) for pair in found for part in pair):
        raise ValueError(f"subjects {text}")
    return found


_CODECS: dict[Any, Codec | None] = {
    str: None,
    int: None,
    bool: Codec(int, bool, int),  # 1 or 0
    date: Codec(date.isoformat, date.fromisoformat),  # 2026-03-02
    datetime: Codec(  # in UTC, whatever its time zone is: 2026-03-02T18:05:09.000000+00:00
        lambda moment: moment.astimezone(UTC).isoformat(timespec="microseconds"),
        lambda text: datetime.fromisoformat(text).astimezone(UTC),
    ),
    Fraction: Codec(str, Fraction),  # 1/2
    Frames: Codec(lambda frames: frames.text, Frames.parse),  # 1-20,25-48
    facts.EntryNumber: Codec(str, facts.EntryNumber.parse),
    facts.Subjects: Codec(  # [["puppet","wick-1"],["stage","S1"]]
        partial(json.dumps, ensure_ascii=False, separators=(",", ":")), _subjects
    ),
}


@cache
def _codec(held: Any) -> Codec | None:
    is_word = isinstance(held, type) and issubclass(held, StrEnum)
    return Codec(str, held) if is_word else _CODECS[held]


# --- what is said of columns and tables


@dataclass(frozen=True, slots=True)
class References:
    """A column names what is there in another, ``people.person``.

    deferred: looked at when all rows are in.
    """

    to: str
    deferred: bool = False


@dataclass(frozen=True, slots=True)
class ForeignKey:
    """Several columns together name what is there in others."""

    columns: tuple[str, ...]
    to: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Default:
    """What a column holds, in SQL, where nothing is said."""

    sql: str


@dataclass(frozen=True, slots=True)
class Rule:
    """What must be true of every row, in SQL."""

    name: str
    sql: str


@dataclass(frozen=True, slots=True)
class Unique:
    """No two rows have the same in these columns."""

    columns: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Index:
    """An index over columns, or over what SQL makes of them: ``coalesce(take, 0)``."""

    name: str
    expressions: tuple[str, ...]
    unique: bool = False


@dataclass(frozen=True, slots=True)
class LogColumn:
    """A column: the type of its values, as the field of a fact says it, and how they are kept.

    codec: None: they are kept as they are. unique: no two rows have the same in it.
    """

    name: str
    kind: Any
    codec: Codec | None
    unique: bool
    said: tuple[References | Default | Rule, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class LogRecord:
    """A table of the log, and what its rows hold.

    fact: the class of the fact that a row holds, if any. key: the column that numbers the rows.
    columns: all of them by name, in their order, the key first. renamed: field -> column, of the
    fields that are not called as their columns. others, rules: what is said of whole rows.
    """

    name: str
    fact: type[Any] | None
    key: str
    columns: Mapping[str, LogColumn]
    renamed: Mapping[str, str]
    others: tuple[Unique | Index | ForeignKey, ...]
    rules: tuple[Rule, ...]

    @property
    def said_columns(self) -> list[str]:
        """The columns that hold what somebody said: not the row's key, no folded code."""
        return [name for name in self.columns if name != self.key and not name.endswith("_key")]

    @property
    def unique_keys(self) -> list[tuple[str, ...]]:
        """What makes a row unique beside its place: columns, or ``coalesce(take, 0)``."""
        columns = [(column.name,) for column in self.columns.values() if column.unique]
        tables = [other.columns for other in self.others if isinstance(other, Unique)]
        indexes = [o.expressions for o in self.others if isinstance(o, Index) and o.unique]
        return [*sorted([*columns, *tables]), *indexes]

    @property
    def key_columns(self) -> tuple[str, ...]:
        """The columns that make a row unique in a table whose rows have no code; else none."""
        keys = self.unique_keys
        own = keys[0] if len(keys) == 1 else ()
        return tuple(re.sub(r"^coalesce\((\w+),.*", r"\1", each) for each in own)


RECORDS: dict[str, LogRecord] = {}
"""Every table of the log, by its name, in the order in which they name each other."""

# Alembic's own table and its column: the version of the log.
VERSION_TABLE, VERSION_COLUMN = "alembic_version", "version_num"


# --- the tables


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


# What a column of this name names in every table that stands below; the codes join it.
_NAMED = {"cut": "cut_versions.version"}


def record(
    name: str,
    fact: type[Any] | None,
    *others: Unique | Index | ForeignKey,
    key: str = "position",
    first: Mapping[str, tuple[Any, ...]] | None = None,
    code: str = "",
    renamed: Mapping[str, str] | None = None,
    columns: Mapping[str, tuple[Any, ...]] | None = None,
    last: Iterable[str] = (),
    **rules: str,
) -> None:
    """Describe the table of a fact, with a column for each of its fields, by its type.

    key: the number of a row; the position says in which order rows were first written.
    first, columns: the type, and what else is to be said, of columns that are not as their field
    says, or have none: the first ones stand before the fields. last: columns that come last.
    code: what the code of the fact is called in every table. It is unique as it is spelled and as
    it is folded; columns of later tables that are called so name it. renamed: field -> column, of
    other fields that are not called as their columns. rules: the name of a rule is its wording:
    when it refuses a row, ``writer.py`` shows the name to people as "the take counts from 1".
    """
    named = {"code": code, **(renamed or {})}
    made: dict[str, tuple[Any, ...]] = {key: (int | None,), **(first or {})}
    for field, kind in get_type_hints(fact).items() if fact else ():
        column = named.get(field, field)
        if column not in made:
            made[column] = (kind, *(References(to) for to in [_NAMED.get(column)] if to))
    if code:
        made[f"{code}_key"] = (str,)
        rules = {f"the_{code}_has_a_code": has_text(code), **rules}
        _NAMED[code] = f"{name}.{code}"
    made |= columns or {}
    made |= {column: made.pop(column) for column in last}
    RECORDS[name] = LogRecord(
        name=name,
        fact=fact,
        key=key,
        columns={
            column: LogColumn(
                name=column,
                kind=kind,
                codec=_codec(get_args(kind)[0] if isinstance(kind, UnionType) else kind),
                unique=column in (code, f"{code}_key"),
                said=tuple(said),
            )
            for column, (kind, *said) in made.items()
        },
        renamed=named,
        others=others,
        rules=tuple(Rule(wording, sql) for wording, sql in rules.items()),
    )


record(
    "crafts",
    facts.Craft,
    code="craft",
    # Came last, with its rule, to a table that was there.
    columns={
        "repair": (
            bool,
            Default("0"),
            Rule("repair_is_yes_or_no", yes_or_no("repair")),
        )
    },
    last=("repair",),
    the_craft_has_a_name_and_a_department=has_text("name", "department"),
    the_kind_is_performance_or_build=one_of("kind", facts.Kind),
    footage_is_yes_or_no=yes_or_no("footage"),
)
record(
    "people",
    facts.Person,
    code="person",
    renamed={"wish": "credit_wish"},
    # A list of people may name somebody before their own row comes: looked at when all are in.
    columns={
        "same_as": (
            str | None,
            References("people.person", deferred=True),
        )
    },
    the_person_has_a_credit_name=has_text("credit_name"),
    the_credit_wish_is_credited_or_uncredited=one_of("credit_wish", facts.CreditWish),
    name_confirmed_on_is_a_date=are_dates("name_confirmed_on"),
    nobody_is_the_same_as_themselves="same_as <> person",
)
record(
    "engagements",
    facts.Engagement,
    Index(
        "uq_engagements_key",
        ("person", "department", "job_title", "coalesce(starts_on, '')"),
        unique=True,
    ),
    the_engagement_has_a_department_and_a_job_title=has_text("department", "job_title"),
    starts_on_and_ends_on_are_dates=are_dates("starts_on", "ends_on"),
    the_engagement_ends_after_it_starts="ends_on >= starts_on",
    the_billing_number_counts_from_1="billing_number >= 1",
)
record(
    "characters",
    facts.Character,
    code="character",
    the_character_has_a_name=has_text("name"),
    silent_is_yes_or_no=yes_or_no("silent"),
)
record(
    "puppets",
    facts.Puppet,
    code="puppet",
    ready_on_and_retired_on_are_dates=are_dates("ready_on", "retired_on"),
)
record(
    "parts",
    facts.Part,
    code="part",
    the_part_has_a_kind=has_text("kind"),
)
record(
    "fittings",
    facts.Fitting,
    Unique(("part", "puppet", "from_on")),
    from_on_and_to_on_are_dates=are_dates("from_on", "to_on"),
    the_fitting_ends_after_it_begins="to_on >= from_on",
)
record("sequences", facts.Sequence, code="sequence")
record(
    "shots",
    facts.Shot,
    code="shot",
    renamed={"length": "frames"},
    last=("episode",),  # came last, to a table that was there
    the_shot_has_at_least_1_frame="frames >= 1",
    the_status_is_planned_shooting_done_or_omitted=one_of("status", facts.ShotStatus),
)
record("stages", facts.Stage, code="stage")
record(
    "takes",
    facts.Take,
    Unique(("shot", "take")),
    renamed={"number": "take"},
    the_take_counts_from_1="take >= 1",
    the_purpose_is_block_rehearsal_or_shoot=one_of("purpose", facts.Purpose),
    the_decision_is_open_accepted_or_retake=one_of("decision", facts.Decision),
    decided_on_is_a_date=are_dates("decided_on"),
)
record(
    "replacements",
    facts.Replacement,
    Index(
        "uq_replacements_key",
        ("shot", "coalesce(take, 0)", "character", "part"),
        unique=True,
    ),
    the_take_counts_from_1="take >= 1",
    the_replacement_names_frames="frames <> ''",
)
# A date in the people table writes a confirmation by trigger.
record(
    "confirmations",
    facts.Confirmation,
    the_confirmed_name_has_text=has_text("name"),
    confirmed_on_is_a_date=are_dates("confirmed_on"),
    is_right_is_yes_or_no=yes_or_no("is_right"),
)
record(
    "proofs",
    facts.ProofMark,
    key="number",
    renamed={"plan": "plan_text"},
    # The seal, with its rule, and the episode came last, to a table that was there.
    columns={
        "content": (str,),
        "seal": (str | None, Rule("the_seal_is_64_digits", "length(seal) = 64")),
    },
    last=("seal", "episode"),
    the_number_counts_from_1="number >= 1",
    the_proof_names_its_plan=has_text("plan_text"),
    the_log_lines_are_not_negative="log_lines >= 0",
    the_changes_are_not_negative="changes >= 0",
    the_lines_are_not_negative="lines >= 0",
    the_people_are_not_negative="people >= 0",
    the_content_is_an_object="is_object(content)",
)
# The log's own row: the letters that its lines are numbered with, the day it was made.
record(
    "log",
    None,
    key="one",
    columns={"origin": (str,), "made_on": (date,)},
    a_log_has_one_row="one = 1",
    the_origin_is_letters="is_letters(origin)",
    made_on_is_a_date=are_dates("made_on"),
)
_SAID = [field.name for field in fields(facts.Work) if field.name != "private"]

# A void carries no work; amend and void name the line that they correct.
record(
    "entries",
    facts.Work,
    Unique(("origin", "number")),
    ForeignKey(("corrects_origin", "corrects_number"), ("entries.origin", "entries.number")),
    key="line",
    first={"origin": (str,), "number": (int,), "verb": (Verb,), "logged_at": (datetime,)},
    columns={
        "craft": (str | None, References("crafts.craft")),
        "person": (str | None, References("people.person")),
        "corrects_origin": (str | None,),
        "corrects_number": (int | None,),
        **dict.fromkeys(("logged_by", "why", "ref", "source", "sheet"), (str | None,)),
    },
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
    a_void_carries_no_work=f"verb <> 'void' OR (no_value({', '.join(_SAID)}) AND private = 0)",
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
# The imports of the editors' cut.
record(
    "cut_versions",
    None,
    key="version",
    columns={"source": (str,), "length": (int,), "brought_in_on": (date | None,)},
    the_version_counts_from_1="version >= 1",
    the_length_of_the_cut_is_not_negative="length >= 0",
    brought_in_on_is_a_date=are_dates("brought_in_on"),
)
record(
    "cut_clips",
    facts.CutClip,
    Unique(("version", "clip_order")),
    first={"version": (int, References("cut_versions.version"))},
    renamed={"order": "clip_order"},
    # The editors may name a shot that the log does not have: a check says so, the cut stays whole.
    columns={"shot": (str,)},
    the_film_counts_from_frame_1="film_first >= 1",
    the_clip_shows_at_least_1_frame="shown >= 1",
    the_take_counts_from_1="take >= 1",
    the_source_frames_run_forward="speed = '0' OR source_last >= source_first",
    the_speed_is_a_number="is_fraction(speed)",
)
# From when on which version of the cut is the current one; the last row counts.
record(
    "cut_uses",
    None,
    columns={"version": (int, References("cut_versions.version")), "used_at": (datetime,)},
)
record(
    "settlements",
    facts.Settlement,
    renamed={"check": "check_name"},
    last=("why", "settled_by", "taken_back"),
    the_answer_names_a_check=has_text("check_name"),
    the_subjects_are_a_list="is_list(subjects)",
    the_answer_names_the_facts_it_rests_on=has_text("facts"),
    an_answer_says_why="is_yes(taken_back) OR coalesce(length(trim(why)), 0) > 0",
    taken_back_is_yes_or_no=yes_or_no("taken_back"),
)
# Why a row of a list was voided, or another took its place; what it said is in the history.
record(
    "list_corrections",
    ListCorrection,
    renamed={"table": "table_name", "row": "row_key"},
    the_correction_names_a_table=has_text("table_name"),
    the_correction_names_a_row=has_text("row_key"),
    the_correction_says_why=has_text("why"),
)
# The changes of the reference tables, written by trigger. Rows are JSON objects by column.
record(
    "history",
    None,
    Index("ix_history_table_name", ("table_name",)),
    Index("ix_history_code", ("code",)),
    columns={
        **dict.fromkeys(("table_name", "code", "verb"), (str,)),
        **dict.fromkeys(("old_row", "new_row"), (str | None,)),
        "changed_at": (datetime,),
    },
    the_change_names_a_table=has_text("table_name"),
    the_verb_is_insert_update_or_delete=one_of("verb", ("insert", "update", "delete")),
)

# What each transaction has written is a moment of the log, and has a seal; so has each chain that
# has grown by it (``chain.py``).
record(
    "moments",
    None,
    key="moment",
    columns={"sealed_at": (datetime,), "seal": (str,)},
    the_moment_counts_from_1="moment >= 1",
    the_seal_is_64_digits="length(seal) = 64",
)
record(
    "seals",
    None,
    Unique(("chain", "first_row")),
    columns={
        "moment": (int, References("moments.moment")),
        "chain": (str,),
        **dict.fromkeys(("first_row", "last_row"), (int,)),
        **dict.fromkeys(("digests", "seal"), (str,)),
    },
    the_seal_is_64_digits="length(seal) = 64",
    the_rows_run_forward="last_row >= first_row",
)

# Rows of the reference tables may change, and how they did is kept; all other rows stay for ever.
WITH_HISTORY = ("log", *REFERENCE_TABLES)
APPEND_ONLY = tuple(name for name in RECORDS if name not in WITH_HISTORY)
