"""How the reference tables changed is kept."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest

from credits.errors import ProblemsFound, WrongCall
from credits.model.facts import Engagement, Part, Person, Replacement, Work
from credits.model.log import Batch, Change, NewLine, RowCorrection, Verb
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


MISTAKEN = Engagement(person="ana", department="Animation", job_title="Animater")
RIGHT = Engagement(person="ana", department="Animation", job_title="Animator")


def test_a_row_of_a_list_is_voided_with_a_reason_and_stays_in_the_history(film: Path) -> None:
    void = RowCorrection(table="engagements", row=MISTAKEN, why="Typed twice.", corrected_by="mia")
    first, second = changes(
        film, "engagements", "ana", Batch(engagements=(MISTAKEN,)), Batch(corrections=(void,))
    )
    assert (first.verb, second.verb) == ("insert", "delete")
    assert second.columns["job_title"] == ("Animater", None)
    with open_log(film) as log:
        assert log.read().engagements == ()
        (said,) = log.list_corrections()
    assert (said.table, said.row, said.instead) == ("engagements", "ana, Animation, Animater", None)
    assert (said.why, said.corrected_by) == ("Typed twice.", "mia")


def test_another_row_takes_the_place_of_one_whose_key_was_wrong(film: Path) -> None:
    other = RowCorrection(table="engagements", row=MISTAKEN, instead=RIGHT, why="Spelling.")
    changes(film, "engagements", "ana", Batch(engagements=(MISTAKEN,)), Batch(corrections=(other,)))
    with open_log(film) as log:
        assert log.read().engagements == (RIGHT,)
        (said,) = log.list_corrections()
    assert said.instead == "ana, Animation, Animator"


def test_what_an_entry_names_is_not_voided(film: Path) -> None:
    work = Work(craft="animation", person="ana", character="wick", shot="010-020")
    void = RowCorrection(
        table="people", row=Person(code="ana", credit_name="Ana"), why="Not our Ana."
    )
    with open_log(film) as log:
        with log.writing() as writer:
            writer.write(Batch(lines=(NewLine(verb=Verb.RECORD, work=work),)))
        with pytest.raises(ProblemsFound, match="is named by entries"), log.writing() as writer:
            writer.write(Batch(corrections=(void,)))
        assert [person.code for person in log.read().people if person.code == "ana"] == ["ana"]
        assert log.list_corrections() == ()


def test_a_row_that_is_not_there_is_not_voided(film: Path) -> None:
    void = RowCorrection(table="engagements", row=MISTAKEN, why="Typed twice.")
    with (
        open_log(film) as log,
        pytest.raises(ProblemsFound, match="is not there"),
        log.writing() as writer,
    ):
        writer.write(Batch(corrections=(void,)))
