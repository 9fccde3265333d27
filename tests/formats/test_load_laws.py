"""Laws of loading: twice is once, the order of files is no matter, all or nothing."""

from __future__ import annotations

import dataclasses
from collections import Counter

from given_tables import EMPTY, FILM, after, csv_text
from hypothesis import given, settings
from hypothesis import strategies as st

from credits.formats.tables.again import Choices
from credits.formats.tables.columns import TABLES
from credits.formats.tables.load import plan_load
from credits.formats.tables.sheets import Sheets, read_csv
from credits.model.facts import Work
from credits.model.log import Batch, NewLine, Verb, WrittenLog
from credits.model.replay import current_lines, replay
from tests.drawn import drawn

COLUMNS = "ref,craft,person,character,shot,frames,finished_on,minutes"


def tables(**texts: str) -> Sheets:
    """Tables read from text, without files; the name begins with the table's."""
    found = Sheets()
    for name, text in texts.items():
        table = name.partition("_")[0]
        rows = read_csv(csv_text(text).encode(), f"{name}.csv", TABLES[table].column_names)
        found.add(table, f"{name}.csv", rows)
    return found


def both(one: Sheets, other: Sheets) -> Sheets:
    """The files of both, in one load."""
    return Sheets(sheets=[*one.sheets, *other.sheets])


def said(log: WrittenLog) -> Counter[Work | None]:
    """What the entries of a log say now, and how often."""
    return Counter(holds.work for _, holds in current_lines(log.lines)[0])


AMEND = Choices(amend=True)


BASE = after(EMPTY, plan_load(tables(**FILM), EMPTY).batch)

rows = st.lists(
    st.builds(
        ",".join,
        st.tuples(
            st.just(""),
            st.sampled_from(["animation", "paint", "VOICE"]),
            st.sampled_from(["ana", "Ben"]),
            st.sampled_from(["wick", "brine"]),
            st.just("010-020"),
            st.sampled_from(["", "1-12", "17"]),
            st.sampled_from(["", "2026-03-02"]),
            st.sampled_from(["", "30", "45"]),
        ),
    ),
    max_size=12,
)


@st.composite
def sheets(draw: st.DrawFn, names: tuple[str, ...] = ("entries",)) -> Sheets:
    """An entries sheet in which some rows have a ref of their own."""
    lines = draw(rows)
    with_ref = draw(st.sets(st.integers(0, len(lines))))
    numbered = [f"{i}{line}" if i in with_ref else line for i, line in enumerate(lines)]
    return tables(**{draw(st.sampled_from(names)): "\n".join([COLUMNS, *numbered])})


WEEKS = ("entries_week_1", "entries_week_2", "entries_week_3")


@given(sheet=sheets(WEEKS), other=sheets(WEEKS))
def test_loading_twice_changes_nothing_the_second_time(sheet: Sheets, other: Sheets) -> None:
    log = after(BASE, plan_load(other, BASE).batch)
    first = plan_load(sheet, log, AMEND)
    assert first.problems == ()
    again = plan_load(sheet, after(log, first.batch))
    assert again.changes_nothing
    assert again.is_whole
    count = again.counts["entries"]
    assert (count.new, count.changed, count.same) == (0, 0, len(sheet.sheets[0].cells))


@given(one=sheets(WEEKS), other=sheets(WEEKS), amend=st.booleans(), again=st.booleans())
def test_one_load_of_two_files_is_two_loads_of_one(
    one: Sheets, other: Sheets, amend: bool, again: bool
) -> None:
    is_one = one.sheets[0].known_as == other.sheets[0].known_as
    void_missing = None if is_one else "not in the sheet"
    choices = Choices(amend=amend, again=again, void_missing=void_missing)
    together = plan_load(both(one, other), BASE, choices)
    first = plan_load(one, BASE, choices)
    log = after(BASE, first.batch)
    second = plan_load(other, log, choices)
    if not together.needs_word:  # else nothing at all of a load is written
        assert after(BASE, together.batch).lines == after(log, second.batch).lines
        assert together.sheets == first.sheets + second.sheets


@given(order=st.permutations(range(3)), data=st.data())
def test_the_order_of_the_sheets_is_no_matter(order: list[int], data: st.DataObject) -> None:
    given_sheets = [data.draw(sheets((name,))) for name in WEEKS]
    in_order, mixed = BASE, BASE
    for at, place in enumerate(order):
        in_order = after(in_order, plan_load(given_sheets[at], in_order).batch)
        mixed = after(mixed, plan_load(given_sheets[place], mixed).batch)
    assert said(in_order) == said(mixed)


@settings(max_examples=drawn(200))
@given(sheet=sheets(WEEKS), other=sheets(WEEKS), data=st.data())
def test_what_was_corrected_by_hand_does_not_come_in_again(
    sheet: Sheets, other: Sheets, data: st.DataObject
) -> None:
    log = after(BASE, plan_load(sheet, BASE).batch)
    is_another = other.sheets[0].known_as != sheet.sheets[0].known_as
    if is_another:
        log = after(log, plan_load(other, log).batch)
    works = [line.work for line in log.lines if line.work]
    for _ in range(data.draw(st.integers(0, 4)) if works else 0):
        now = [line for _, line in current_lines(log.lines)[0]]
        if not now:
            break
        at = data.draw(st.sampled_from(now))
        if data.draw(st.booleans()):
            line = NewLine(verb=Verb.VOID, corrects=at.number)
        else:
            line = NewLine(
                verb=Verb.AMEND, work=data.draw(st.sampled_from(works)), corrects=at.number
            )
        log = after(log, Batch(lines=(line,)))
    for again in (sheet, other) if is_another else (sheet,):
        plan = plan_load(again, log)
        assert plan.changes_nothing
        assert plan.is_whole


@given(sheet=sheets())
def test_a_loaded_log_can_be_replayed(sheet: Sheets) -> None:
    plan = plan_load(sheet, BASE)
    assert len(replay(after(BASE, plan.batch)).entries) == plan.counts["entries"].new


@given(order=st.permutations(sorted(FILM)))
def test_the_order_of_the_files_is_no_matter(order: list[str]) -> None:
    whole = tables(**{name: FILM[name] for name in order})
    assert plan_load(whole, EMPTY).batch == plan_load(tables(**FILM), EMPTY).batch


@given(
    cells=st.lists(
        st.lists(
            st.text(st.characters(codec="utf-8", exclude_characters="\0"), max_size=8)
            | st.sampled_from(["ana", "wick", "1-12", "2026-03-02", "1/2", "yes", "010-020"]),
            min_size=20,
            max_size=20,
        ),
        max_size=4,
    ),
    table=st.sampled_from(sorted(TABLES)),
)
def test_whatever_stands_in_the_cells_is_loaded_or_refused_with_its_row(
    cells: list[list[str]], table: str
) -> None:
    found = Sheets()
    header = TABLES[table].column_names
    stripped = [[cell.strip() for cell in row] for row in cells]
    found.add(table, f"{table}.csv", [list(header), *(r[: len(header)] for r in stripped)])
    plan = plan_load(found, BASE)
    assert plan.problems == () or plan.batch == Batch()
    assert all(str(p).startswith(f"{table}.csv row") for p in plan.problems)


def test_the_log_given_is_not_changed() -> None:
    before: WrittenLog = dataclasses.replace(BASE)
    plan_load(tables(people="person,credit_name\nana,Other"), BASE)
    assert before == BASE
