"""Loading entries again: what is there already, what is an amendment, what stays voided."""

from __future__ import annotations

import dataclasses
from pathlib import Path

from given_tables import after, film, loaded, plan, problems

from credits.model.facts import EntryNumber, Work
from credits.model.log import Batch, NewLine, TableCount, Verb, WrittenLog
from credits.model.replay import current_lines

HEADER = "ref,craft,person,character,minutes"
ANA = "animation,ana,wick"


def amended(log: WrittenLog, number: int, **changes: object) -> WrittenLog:
    """The log after an amendment by hand."""
    work = next(line.work for line in log.lines if line.number.number == number)
    assert work is not None
    line = NewLine(
        verb=Verb.AMEND,
        work=dataclasses.replace(work, **changes),
        corrects=EntryNumber("A", number),
        why="typo",
    )
    return after(log, Batch(lines=(line,)))


def voided(log: WrittenLog, number: int) -> WrittenLog:
    """The log after an entry was voided by hand."""
    line = NewLine(verb=Verb.VOID, corrects=EntryNumber("A", number), why="never happened")
    return after(log, Batch(lines=(line,)))


def minutes_now(log: WrittenLog) -> list[int | None]:
    return [line.work.minutes for _, line in current_lines(log.lines)[0] if line.work]


def test_the_same_ref_with_the_same_content_is_there_already(tmp_path: Path) -> None:
    text = f"{HEADER}\n1,{ANA},30\n2,{ANA},30"
    log = loaded(tmp_path, film(tmp_path), entries=text)
    again = plan(tmp_path, log, entries=text)
    assert again.changes_nothing
    assert again.counts["entries"] == TableCount(same=2)


def test_the_same_ref_with_other_content_amends_the_line_that_counts(tmp_path: Path) -> None:
    log = film(tmp_path)
    for minutes in (30, 40, 50):
        log = loaded(tmp_path, log, entries=f"{HEADER}\n1,{ANA},{minutes}")
    assert [(line.verb, str(line.corrects)) for line in log.lines] == [
        (Verb.RECORD, "None"),
        (Verb.AMEND, "A-1"),
        (Verb.AMEND, "A-2"),
    ]
    assert minutes_now(log) == [50]
    back = plan(tmp_path, log, entries=f"{HEADER}\n1,{ANA},30")
    assert back.counts["entries"] == TableCount(changed=1)
    assert back.batch.lines[0].corrects == EntryNumber("A", 3)


def test_refs_are_compared_with_regard_to_case(tmp_path: Path) -> None:
    log = loaded(tmp_path, film(tmp_path), entries=f"{HEADER}\na,{ANA},30")
    found = plan(tmp_path, log, entries=f"{HEADER}\nA,{ANA},30")
    assert found.counts["entries"] == TableCount(new=1)


def test_a_correction_by_hand_stands_until_the_sheet_itself_changes(tmp_path: Path) -> None:
    text = f"{HEADER}\n1,{ANA},30"
    log = amended(loaded(tmp_path, film(tmp_path), entries=text), 1, minutes=35)
    assert plan(tmp_path, log, entries=text).changes_nothing
    log = loaded(tmp_path, log, entries=f"{HEADER}\n1,{ANA},60")
    assert minutes_now(log) == [60]


def test_a_voided_ref_stays_voided_until_it_says_something_else(tmp_path: Path) -> None:
    text = f"{HEADER}\n1,{ANA},30"
    log = voided(loaded(tmp_path, film(tmp_path), entries=text), 1)
    assert plan(tmp_path, log, entries=text).changes_nothing
    other = f"{HEADER}\n1,{ANA},60"
    log = loaded(tmp_path, log, entries=other)
    assert log.lines[-1].verb is Verb.RECORD
    assert minutes_now(log) == [60]
    assert plan(tmp_path, log, entries=other).changes_nothing


def test_one_ref_for_two_contents_in_one_load_names_both_rows(tmp_path: Path) -> None:
    assert problems(tmp_path, film(tmp_path), entries=f"{HEADER}\n1,{ANA},30\n1,{ANA},31") == [
        "entries.csv row 3: ref '1': entries.csv row 2 has the same ref with another content. "
        "Give each row its own ref."
    ]
    twice = plan(tmp_path, film(tmp_path), entries=f"{HEADER}\n1,{ANA},30\n1,{ANA},30")
    assert twice.counts["entries"] == TableCount(new=1, same=1)


def test_a_ref_that_two_joined_logs_gave_to_two_entries_is_not_guessed(tmp_path: Path) -> None:
    log = loaded(tmp_path, film(tmp_path), entries=f"{HEADER}\n1,{ANA},30")
    other = NewLine(
        verb=Verb.RECORD,
        work=Work(craft="paint", person="ben", character="brine"),
        ref="1",
        source="entries.csv row 2",
        sheet="entries",
    )
    log = after(log, Batch(lines=(other,)))
    assert plan(tmp_path, log, entries=f"{HEADER}\n1,{ANA},30").changes_nothing
    (found,) = problems(tmp_path, log, entries=f"{HEADER}\n1,{ANA},45")
    assert "belongs to several entries (A-1, A-2)" in found


def test_rows_without_a_ref_are_matched_by_content_counting_repetitions(tmp_path: Path) -> None:
    two = f"{HEADER}\n,{ANA},30\n,{ANA},30"
    log = loaded(tmp_path, film(tmp_path), entries=two)
    found = plan(tmp_path, log, entries=f"{two}\n,{ANA},30\n,{ANA},45")
    assert found.counts["entries"] == TableCount(new=2, same=2)
    assert [line.source for line in found.batch.lines] == [
        "entries.csv row 4",
        "entries.csv row 5",
    ]


def test_who_logged_it_is_not_content(tmp_path: Path) -> None:
    log = loaded(tmp_path, film(tmp_path), entries=f"{HEADER},logged_by\n,{ANA},30,Cora")
    assert plan(tmp_path, log, entries=f"{HEADER},logged_by\n,{ANA},30,Dov").changes_nothing


def test_an_entry_amended_by_hand_does_not_come_in_again(tmp_path: Path) -> None:
    text = f"{HEADER}\n,{ANA},30\n,{ANA},40"
    log = amended(loaded(tmp_path, film(tmp_path), entries=text), 1, minutes=40)
    assert plan(tmp_path, log, entries=text).changes_nothing


def test_an_entry_voided_by_hand_does_not_come_in_again(tmp_path: Path) -> None:
    text = f"{HEADER}\n,{ANA},30\n,{ANA},30"
    log = voided(loaded(tmp_path, film(tmp_path), entries=text), 1)
    assert plan(tmp_path, log, entries=text).changes_nothing
    assert minutes_now(log) == [30]


def test_a_sheet_that_was_put_right_as_well_matches_the_amendment(tmp_path: Path) -> None:
    log = loaded(tmp_path, film(tmp_path), entries=f"{HEADER}\n,{ANA},30")
    log = amended(log, 1, minutes=35)
    assert plan(tmp_path, log, entries=f"{HEADER}\n,{ANA},35").changes_nothing


def test_rows_with_and_without_ref_are_not_taken_for_each_other(tmp_path: Path) -> None:
    both = f"{HEADER}\n1,{ANA},30\n,{ANA},30"
    log = loaded(tmp_path, film(tmp_path), entries=both)
    assert len(log.lines) == 2
    assert plan(tmp_path, log, entries=both).changes_nothing
