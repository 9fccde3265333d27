"""How the reference tables changed is kept."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest

from credits.errors import WrongCall
from credits.model.facts import Engagement, Part, Person, Replacement
from credits.model.log import Batch, Change
from credits.store.log import open_log
from credits.units.frames import Frames


def changes(folder: Path, table: str, code: str, *batches: Batch) -> tuple[Change, ...]:
    with open_log(folder) as log:
        for batch in batches:
            with log.writing() as pen:
                pen.write(batch)
        return log.history(table, code)


def test_a_change_says_the_old_and_the_new_value_of_what_changed(film: Path) -> None:
    new_name = Batch(
        people=(Person(code="ana", credit_name="Ana María", name_confirmed_on=date(2026, 3, 2)),)
    )
    first, second = changes(film, "people", "ana", new_name)
    assert (first.table, first.key, first.verb) == ("people", "ana", "insert")
    assert first.columns["credit_name"] == (None, "Ana")
    assert second.verb == "update"
    assert second.columns == {
        "credit_name": ("Ana", "Ana María"),
        "name_confirmed_on": (None, "2026-03-02"),
    }


def test_a_change_says_when_it_was_made(film: Path) -> None:
    (change,) = changes(film, "people", "ana")
    assert change.changed_at.tzinfo is UTC
    assert abs(datetime.now(UTC) - change.changed_at) < timedelta(hours=1)


def test_writing_the_same_again_is_no_change(film: Path) -> None:
    assert (
        len(changes(film, "people", "ana", Batch(people=(Person(code="ana", credit_name="Ana"),))))
        == 1
    )


def test_the_history_is_found_without_regard_to_case(empty: Path) -> None:
    (change,) = changes(
        empty, "people", "ЖУК", Batch(people=(Person(code="жук", credit_name="Жук"),))
    )
    assert change.key == "жук"


def test_rows_without_a_code_are_found_by_their_first_column(film: Path) -> None:
    job = Engagement(person="ana", department="Animation", job_title="Animator", billing_number=2)
    first, second = changes(
        film,
        "engagements",
        "ana",
        Batch(engagements=(job,)),
        Batch(
            engagements=(
                Engagement(
                    person="ana", department="Animation", job_title="Animator", billing_number=1
                ),
            )
        ),
    )
    assert first.columns["job_title"] == (None, "Animator")
    assert second.columns == {"billing_number": (2, 1)}


def test_a_face_that_is_taken_off_a_sheet_is_kept_in_the_history(film: Path) -> None:
    smile = Replacement(
        shot="010-020", take=1, character="wick", part="smile", frames=Frames.parse("1-4,9")
    )
    _, removed = changes(
        film,
        "replacements",
        "010-020",
        Batch(parts=(Part(code="smile", kind="face"),), replacements=(smile,)),
        Batch(cleared_face_sheets=(("010-020", 1),)),
    )
    assert removed.verb == "delete"
    assert removed.columns["frames"] == ("1-4,9", None)


def test_unknown_codes_have_no_history_and_unknown_tables_are_refused(film: Path) -> None:
    assert changes(film, "people", "zed") == ()
    with pytest.raises(WrongCall, match="table 'entries': is not a table with a history"):
        changes(film, "entries", "A-1")
