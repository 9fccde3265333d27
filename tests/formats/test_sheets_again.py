"""A department sends its sheet again: nothing is counted twice, and nothing vanishes."""

from __future__ import annotations

import dataclasses
from datetime import UTC, datetime
from pathlib import Path

import xlsxwriter
from given_tables import after, csv_text, film, loaded, plan
from test_entries_match import amended, minutes_now, voided

from credits.formats.tables.again import Choices, SheetReport
from credits.formats.tables.entries import Chain
from credits.formats.tables.load import LoadPlan, plan_load
from credits.formats.tables.sheets import read_tables
from credits.model.facts import EntryNumber, Work
from credits.model.log import Batch, NewLine, Verb, WrittenLog

HEADER = "ref,craft,person,character,shot,frames,finished_on,minutes"
AMEND = Choices(amend=True)


def row(
    ref: str = "",
    person: str = "ana",
    frames: str = "1-12",
    day: str = "2026-03-02",
    minutes: int = 30,
) -> str:
    return f'{ref},animation,{person},wick,010-020,"{frames}",{day},{minutes}'


def text(*rows: str) -> str:
    return "\n".join([HEADER, *rows])


def week(
    folder: Path,
    log: WrittenLog,
    *rows: str,
    name: str = "entries-week-1",
    choices: Choices | None = None,
) -> LoadPlan:
    """The plan of a sheet with these rows; ``name`` may hold a folder."""
    path = folder / f"{name}.csv"
    path.parent.mkdir(exist_ok=True)
    path.write_text(csv_text(text(*rows)), encoding="utf-8")
    return plan_load(read_tables([path]), log, choices)


def only(found: LoadPlan) -> SheetReport:
    assert found.problems == ()
    (report,) = found.sheets
    return report


def numbers(found: LoadPlan) -> dict[str, list[tuple[int, str]]]:
    """The rows of the sheet that are something else than the same, with their entries."""
    report = only(found)
    kinds = ("new", "changed", "said_again", "corrected")
    rows = {kind: [(r.row, str(r.entry)) for r in getattr(report, kind)] for kind in kinds}
    rows["gone"] = [(0, str(number)) for number in report.gone]
    return {kind: found for kind, found in rows.items() if found}


# --- How a sheet is known


def test_a_line_knows_its_sheet_without_folder_and_ending(tmp_path: Path) -> None:
    found = week(tmp_path, film(tmp_path), row(), name="unit b/entries-Week 1")
    assert [line.sheet for line in found.batch.lines] == ["entries-Week 1"]
    assert found.batch.lines[0].source == "entries-Week 1.csv row 2"


def test_in_a_workbook_the_sheets_name_belongs_to_it(tmp_path: Path) -> None:
    with xlsxwriter.Workbook(tmp_path / "week 10.xlsx") as book:
        for name in ("entries stage A", "entries stage B"):
            page = book.add_worksheet(name)
            page.write_row(0, 0, ["craft", "person", "character", "note"])
            page.write_row(1, 0, ["paint", "ana", "wick", name])
    found = plan_load(read_tables([tmp_path / "week 10.xlsx"]), film(tmp_path))
    assert [line.sheet for line in found.batch.lines] == [
        "week 10/entries stage A",
        "week 10/entries stage B",
    ]


def test_another_name_may_be_said(tmp_path: Path) -> None:
    log = film(tmp_path)
    log = after(log, week(tmp_path, log, row("1")).batch)
    sent = [row("1", minutes=45)]
    renamed = week(tmp_path, log, *sent, name="entries-w1 final", choices=Choices(sheet="x"))
    assert numbers(renamed) == {"new": [(2, "A-2")]}
    choices = Choices(sheet="ENTRIES-week-1")
    renamed = week(tmp_path, log, *sent, name="entries-w1 final", choices=choices)
    assert numbers(renamed) == {"changed": [(2, "A-1")]}


# --- A ref is the key of a row within its sheet


def test_a_ref_of_another_weeks_sheet_is_another_row(tmp_path: Path) -> None:
    log = film(tmp_path)
    log = after(log, week(tmp_path, log, row("1")).batch)
    other = week(tmp_path, log, row("1", "ben", "13-24"), name="entries-week-2")
    assert numbers(other) == {"new": [(2, "A-2")]}
    assert [line.verb for line in other.batch.lines] == [Verb.RECORD]


def test_the_same_name_in_another_folder_with_refs_used_again_writes_nothing(
    tmp_path: Path,
) -> None:
    log = film(tmp_path)
    log = after(log, week(tmp_path, log, row("1"), row("2"), name="w1/entries").batch)
    sent = [row("1", "ben", day="2026-03-09"), row("3", "ben", "25-48")]
    other = week(tmp_path, log, *sent, name="w2/entries")
    assert other.changes_nothing
    assert other.needs_word
    (changed,) = only(other).changed
    assert changed.other_work
    assert changed.columns == {
        "person": ("ana", "ben"),
        "finished_on": ("2026-03-02", "2026-03-09"),
    }
    said = week(tmp_path, log, *sent, name="w2/entries", choices=AMEND)
    assert not said.needs_word
    assert [line.verb for line in said.batch.lines] == [Verb.AMEND, Verb.RECORD]


def test_a_puppet_of_another_character_is_another_piece_of_work(tmp_path: Path) -> None:
    log = film(tmp_path)
    header = "ref,craft,person,puppet"
    log = loaded(tmp_path, log, entries=f"{header}\n1,paint,ana,wick-1")
    assert plan(tmp_path, log, entries=f"{header}\n1,paint,ana,brine-1").needs_word
    assert not plan(tmp_path, log, entries=f"{header}\n1,paint,ana,wick-2").needs_word


def test_more_than_a_quarter_of_the_rows_is_too_much(tmp_path: Path) -> None:
    log = film(tmp_path)
    rows = [row(str(at), minutes=at) for at in range(1, 9)]
    log = after(log, week(tmp_path, log, *rows).batch)
    two = [row(str(at), minutes=at + 100 * (at < 3)) for at in range(1, 9)]
    assert [line.verb for line in week(tmp_path, log, *two).batch.lines] == [Verb.AMEND] * 2
    three = [row(str(at), minutes=at + 100 * (at < 4)) for at in range(1, 9)]
    found = week(tmp_path, log, *three)
    assert found.needs_word
    assert found.changes_nothing
    assert len(week(tmp_path, log, *three, choices=AMEND).batch.lines) == 3


def test_where_one_sheet_needs_a_word_nothing_of_the_load_is_written(tmp_path: Path) -> None:
    log = film(tmp_path)
    log = after(log, week(tmp_path, log, row("1")).batch)
    changed = tmp_path / "entries-week-1.csv"
    changed.write_text(text(row("1", "ben")))
    people = tmp_path / "people.csv"
    people.write_text("person,credit_name\ncai,Cai\n")
    found = plan_load(read_tables([people, changed]), log)
    assert found.batch == Batch()
    assert found.counts["people"].new == 1


def test_a_ref_with_an_equals_sign_is_one_key_across_all_sheets(tmp_path: Path) -> None:
    log = film(tmp_path)
    log = after(log, week(tmp_path, log, row("=k-1")).batch)
    other = week(tmp_path, log, row("=k-1", minutes=45), name="entries-week-2")
    assert numbers(other) == {"changed": [(2, "A-1")]}
    log = after(log, other.batch)
    assert minutes_now(log) == [45]
    first_again = week(tmp_path, log, row("=k-1"))
    assert numbers(first_again) == {"corrected": [(2, "A-1")]}
    assert first_again.changes_nothing


def test_a_ref_given_by_hand_is_no_key_of_a_sheet(tmp_path: Path) -> None:
    log = film(tmp_path)
    log = after(log, week(tmp_path, log, row("1")).batch)
    work = log.lines[0].work
    assert work is not None
    by_hand = dataclasses.replace(work, minutes=99)
    line = NewLine(verb=Verb.RECORD, work=by_hand, ref="1")
    log = after(log, Batch(lines=(line,)))
    assert numbers(week(tmp_path, log, row("1", minutes=45))) == {"changed": [(2, "A-1")]}


# --- Rows without a ref


def test_a_corrected_row_without_ref_is_not_counted_twice(tmp_path: Path) -> None:
    log = film(tmp_path)
    log = after(log, week(tmp_path, log, row(), row(frames="13-24")).batch)
    sent = [row(minutes=45), row(frames="13-24"), row(frames="25-48")]
    found = week(tmp_path, log, *sent)
    assert numbers(found) == {"changed": [(2, "A-1")], "new": [(4, "A-3")]}
    assert only(found).changed[0].columns == {"minutes": ("30", "45")}
    assert not found.is_whole
    assert [line.verb for line in found.batch.lines] == [Verb.RECORD]
    log_held = after(log, found.batch)
    assert minutes_now(log_held) == [30, 30, 30]
    assert numbers(week(tmp_path, log_held, *sent)) == {"changed": [(2, "A-1")]}
    amends = week(tmp_path, log_held, *sent, choices=AMEND)
    assert [line.corrects for line in amends.batch.lines] == [EntryNumber("A", 1)]
    log_amended = after(log_held, amends.batch)
    assert minutes_now(log_amended) == [45, 30, 30]
    assert week(tmp_path, log_amended, *sent).changes_nothing
    further = week(tmp_path, log, *sent, choices=Choices(again=True))
    assert numbers(further) == {"new": [(2, "A-3"), (4, "A-4")], "gone": [(0, "A-1")]}


def test_a_sheet_that_goes_back_to_what_it_said_is_a_change(tmp_path: Path) -> None:
    log = film(tmp_path)
    log = after(log, week(tmp_path, log, row()).batch)
    log = after(log, week(tmp_path, log, row(minutes=45), choices=AMEND).batch)
    back = week(tmp_path, log, row())
    assert numbers(back) == {"changed": [(2, "A-1")]}
    assert not back.is_whole
    log = after(log, week(tmp_path, log, row(), choices=AMEND).batch)
    assert minutes_now(log) == [30]


def test_of_two_like_entries_the_one_between_the_same_neighbours_is_meant(tmp_path: Path) -> None:
    log = film(tmp_path)
    days = [row(day=f"2026-03-{day:02}") for day in range(1, 10)]
    log = after(log, week(tmp_path, log, *days).batch)
    sent = [*days[:1], *days[2:6], row(day="2026-03-17"), *days[7:]]
    found = week(tmp_path, log, *sent)
    assert numbers(found) == {"changed": [(7, "A-7")], "gone": [(0, "A-2")]}


def test_two_differences_make_another_row(tmp_path: Path) -> None:
    log = film(tmp_path)
    log = after(log, week(tmp_path, log, row()).batch)
    found = week(tmp_path, log, row(frames="13-24", day="2026-03-03"))
    assert numbers(found) == {"new": [(2, "A-2")], "gone": [(0, "A-1")]}
    assert found.is_whole


def test_refs_that_a_sheet_is_given_later_count_nothing_twice(tmp_path: Path) -> None:
    log = film(tmp_path)
    log = after(log, week(tmp_path, log, row(), row(frames="13-24")).batch)
    sent = [row("1"), row("2", frames="13-24"), row("3", frames="25-48")]
    assert numbers(week(tmp_path, log, *sent)) == {"new": [(4, "A-3")]}
    changed = [row("1", minutes=45), row("2", frames="13-24")]
    assert numbers(week(tmp_path, log, *changed)) == {"changed": [(2, "A-1")]}


# --- What is gone


def test_a_sheet_of_new_rows_only_leaves_the_earlier_ones(tmp_path: Path) -> None:
    log = film(tmp_path)
    log = after(log, week(tmp_path, log, row("1"), row("2", frames="13-24")).batch)
    found = week(tmp_path, log, row("3", frames="25-48"))
    assert numbers(found) == {"new": [(2, "A-3")], "gone": [(0, "A-1"), (0, "A-2")]}
    assert found.is_whole
    assert len(minutes_now(after(log, found.batch))) == 3


def test_the_same_work_of_a_new_week_under_an_old_name_is_new(tmp_path: Path) -> None:
    log = film(tmp_path)
    log = after(log, week(tmp_path, log, row(), row(person="ben")).batch)
    found = week(tmp_path, log, row(day="2026-03-09"), row(person="ben", day="2026-03-09"))
    assert numbers(found) == {
        "new": [(2, "A-3"), (3, "A-4")],
        "gone": [(0, "A-1"), (0, "A-2")],
    }
    assert found.is_whole


def test_a_sheet_that_drops_old_rows_and_goes_on_holds_nothing_back(tmp_path: Path) -> None:
    log = film(tmp_path)
    days = [row(day=f"2026-03-{day:02}") for day in range(2, 8)]
    log = after(log, week(tmp_path, log, *days[:4]).batch)
    found = week(tmp_path, log, *days[2:])
    assert numbers(found) == {
        "new": [(4, "A-5"), (5, "A-6")],
        "gone": [(0, "A-1"), (0, "A-2")],
    }


def test_missing_rows_are_void_when_somebody_says_why(tmp_path: Path) -> None:
    log = film(tmp_path)
    log = after(log, week(tmp_path, log, row(), row(frames="13-24", day="2026-03-03")).batch)
    why = Choices(void_missing="never done")
    found = week(tmp_path, log, row(), choices=why)
    (void,) = found.batch.lines
    assert (void.verb, void.corrects, void.why) == (Verb.VOID, EntryNumber("A", 2), "never done")
    log = after(log, found.batch)
    assert week(tmp_path, log, row(), choices=why).changes_nothing
    back = week(tmp_path, log, row(), row(frames="13-24", day="2026-03-03"))
    assert numbers(back) == {"new": [(3, "A-4")]}


# --- The same in another sheet


def test_a_row_that_another_sheet_has_word_for_word_is_not_written(tmp_path: Path) -> None:
    base = film(tmp_path)
    log = after(base, week(tmp_path, base, row("1"), row(), row(frames="13-24")).batch)
    sent = [row("7"), row(), row(), row(frames="25-48")]
    found = week(tmp_path, log, *sent, name="entries-office")
    # Two entries say it, so two rows are theirs and the third is a further one.
    assert numbers(found) == {
        "said_again": [(2, "A-1"), (3, "A-2")],
        "new": [(4, "A-4"), (5, "A-5")],
    }
    again = week(tmp_path, log, *sent, name="entries-office", choices=Choices(again=True))
    assert len(only(again).new) == 4


def test_one_row_in_two_files_counts_once_together_and_apart(tmp_path: Path) -> None:
    base = film(tmp_path)
    paths = [tmp_path / "entries-stage.csv", tmp_path / "entries-office.csv"]
    for path in paths:
        path.write_text(text(row(), row("5", frames="13-24")))
    together = plan_load(read_tables(paths), base)
    log = base
    for path in paths:
        log = after(log, plan_load(read_tables([path]), log).batch)
    assert after(base, together.batch).lines == log.lines
    assert len(log.lines) == 2
    assert [(r.row, str(r.entry)) for r in together.sheets[1].said_again] == [
        (2, "A-1"),
        (3, "A-2"),
    ]


def test_an_entry_logged_by_hand_is_not_loaded_again(tmp_path: Path) -> None:
    base = film(tmp_path)
    work = week(tmp_path, base, row()).batch.lines[0].work
    log = after(base, Batch(lines=(NewLine(verb=Verb.RECORD, work=work),)))
    assert numbers(week(tmp_path, log, row())) == {"said_again": [(2, "A-1")]}


# --- Corrected by hand


def test_what_was_corrected_by_hand_stays_and_is_said(tmp_path: Path) -> None:
    base = film(tmp_path)
    for ref in ("", "1"):
        sent = [row(ref), row(ref and "2", frames="13-24")]
        log = after(base, week(tmp_path, base, *sent).batch)
        log = voided(amended(log, 1, minutes=35), 2)
        found = week(tmp_path, log, *sent)
        assert found.changes_nothing
        assert found.is_whole
        assert sorted(numbers(found)["corrected"]) == [(2, "A-1"), (3, "A-2")]
        other = week(tmp_path, log, *sent, name="entries-office")
        assert other.changes_nothing
        assert minutes_now(log) == [35]


def test_a_voided_row_that_says_something_else_is_a_new_entry(tmp_path: Path) -> None:
    base = film(tmp_path)
    log = voided(after(base, week(tmp_path, base, row("1")).batch), 1)
    found = week(tmp_path, log, row("1", minutes=45))
    assert numbers(found) == {"new": [(2, "A-3")]}
    assert week(tmp_path, log, row("1", "ben")).needs_word


def test_two_files_of_one_sheet_do_not_void_each_others_rows(tmp_path: Path) -> None:
    log = film(tmp_path)
    paths = [tmp_path / place / "entries.csv" for place in ("a", "b")]
    for path, frames in zip(paths, ("1-12", "13-24"), strict=True):
        path.parent.mkdir()
        path.write_text(text(row(frames=frames)))
    found = plan_load(read_tables(paths), log, Choices(void_missing="never done"))
    assert [str(problem) for problem in found.problems] == [
        "b/entries.csv: is the sheet entries, as a/entries.csv is, and each lacks the other's "
        "rows. Load each alone, or without --void-missing."
    ]


def test_two_words_in_one_load_for_a_key_of_the_production_are_refused(tmp_path: Path) -> None:
    log = film(tmp_path)
    for name, minutes in (("a", 30), ("b", 45)):
        (tmp_path / f"entries-{name}.csv").write_text(text(row("=k-1", minutes=minutes)))
    paths = [tmp_path / f"entries-{name}.csv" for name in "ab"]
    (found,) = plan_load(read_tables(paths), log).problems
    assert "entries-a.csv row 2 has the same ref with another content" in str(found)


# --- The same row twice, rows that are gone, refs that were given by hand


def test_a_row_that_stands_twice_in_a_sheet_with_its_ref_is_one_entry(tmp_path: Path) -> None:
    log = film(tmp_path)
    found = week(tmp_path, log, row("1"), row("1"), row("2", frames="13-24"))
    assert numbers(found) == {"new": [(2, "A-1"), (4, "A-2")]}
    assert only(found).same == 1
    again = week(tmp_path, after(log, found.batch), row("1"), row("1"))
    assert (numbers(again), only(again).same) == ({"gone": [(0, "A-2")]}, 2)


def test_rows_with_keys_of_the_production_are_never_gone(tmp_path: Path) -> None:
    log = film(tmp_path)
    sent = [row("=k-1"), row("=k-2", frames="13-24"), row("3", frames="25-36")]
    log = after(log, week(tmp_path, log, *sent).batch)
    assert numbers(week(tmp_path, log, row("=k-1"))) == {"gone": [(0, "A-3")]}


def test_a_ref_of_another_sheet_is_no_key_of_a_sheet_that_came_to_say_the_entry() -> None:
    logged_at = datetime(2026, 3, 4, tzinfo=UTC)
    work = Work(craft="animation", person="ana")
    by_hand = NewLine(verb=Verb.RECORD, work=work, ref="1")
    of_sheet = NewLine(
        verb=Verb.AMEND, work=work, corrects=EntryNumber("A", 1), sheet="entries-week-1"
    )
    lines = [
        line.written(EntryNumber("A", number), logged_at)
        for number, line in enumerate((by_hand, of_sheet), 1)
    ]
    chain = Chain(lines, lines[-1])
    assert chain.is_of("entries-week-1")
    assert not chain.has_key_in("entries-week-1")
    keyed = dataclasses.replace(lines[1], ref="1")
    assert Chain([lines[0], keyed], keyed).has_key_in("entries-week-1")
