"""From the lines of the log to the current view: what counts, and what it implies."""

from __future__ import annotations

from datetime import date

import pytest

from credits.model.facts import EntryNumber
from credits.model.ledger import Entry, Ledger
from credits.model.log import WrittenLog
from credits.model.replay import replay
from tests.small_log import small_ledger, small_log

FILM = """
    [people]
    person
    ana
    ben

    [characters]
    character
    wick
    brine

    [puppets]
    puppet, character
    wick-1, wick
    wick-2, wick
    brine-1, brine

    [parts]
    part, character
    smile, wick
    screw,

    [sequences]
    sequence
    010

    [shots]
    shot, sequence, frames
    010-020, 010, 48
"""

ONE_ENTRY = """
    [entries]
    craft, person, character, frames, shot, finished_on
    animation, ana, wick, 1-30, 010-020, 2026-03-02
"""


def log_with(lines: str, entries: str = ONE_ENTRY) -> WrittenLog:
    """One entry, A-1, and lines behind it."""
    columns = "verb, corrects, logged_at, craft, person, character, shot, frames, why"
    return small_log(f"{FILM}{entries}\n[lines]\n{columns}\n{lines}")


def view(log: WrittenLog) -> list[tuple[str, str, str | None]]:
    """The current entries: the line that says each now, the line it goes back to, its frames."""
    return [
        (str(entry.number), str(entry.first), entry.frames.text if entry.frames else None)
        for entry in replay(log).entries
    ]


def forks(log: WrittenLog) -> list[tuple[str, list[str], str]]:
    return [
        (str(fork.line), [str(number) for number in fork.corrections], str(fork.holds))
        for fork in replay(log).forks
    ]


# --- Amend and void


def test_an_amendment_replaces_the_whole_entry() -> None:
    log = log_with("amend, A-1, , animation, ben, brine, 010-020, 1-12")
    (entry,) = replay(log).entries
    assert (entry.person, entry.character, entry.puppet) == ("ben", "brine", "brine-1")
    assert entry.day is None  # the amendment gives no date
    assert view(log) == [("A-2", "A-1", "1-12")]
    assert forks(log) == []


def test_a_chain_of_amendments_is_followed_to_its_end() -> None:
    log = log_with("""
        amend, A-1, , animation, ana, wick, 010-020, 1-12
        amend, A-2, , animation, ana, wick, 010-020, 1-13
        amend, A-3, , animation, ana, wick, 010-020, 1-14
    """)
    assert view(log) == [("A-4", "A-1", "1-14")]
    assert forks(log) == []


def test_a_voided_entry_counts_nowhere() -> None:
    log = log_with("void, A-1, , , , , , , not worked")
    ledger = replay(log)
    assert view(log) == []
    assert not ledger.entries_by_person
    assert not ledger.entries_by_shot
    assert ledger.last_line == EntryNumber("A", 2)  # the lines are still there
    assert ledger.last_day is None


def test_voiding_the_end_of_a_chain_does_not_bring_the_start_back() -> None:
    log = log_with("""
        amend, A-1, , animation, ana, wick, 010-020, 1-12
        void, A-2, , , , , , , it was Ben
    """)
    assert view(log) == []


def test_voiding_an_entry_that_was_amended_voids_it_all_the_same() -> None:
    # What the void names was never done, whoever amended it meanwhile; both are reported.
    log = log_with("""
        amend, A-1, , animation, ana, wick, 010-020, 1-12
        void, A-1, , , , , , , never done
    """)
    assert view(log) == []
    assert forks(log) == [("A-1", ["A-2", "A-3"], "A-3")]


def test_a_void_cannot_be_voided() -> None:
    log = log_with("""
        void, A-1, , , , , , , never done
        void, A-2, , , , , , , or was it
    """)
    assert view(log) == []


# --- Forks


def test_of_two_amendments_the_one_logged_later_counts_and_both_are_reported() -> None:
    log = log_with("""
        amend, A-1, 2026-01-01T09:30, animation, ana, wick, 010-020, 1-12
        amend, A-1, 2026-01-01T09:20, animation, ana, wick, 010-020, 1-13
    """)
    assert view(log) == [("A-2", "A-1", "1-12")]
    assert forks(log) == [("A-1", ["A-2", "A-3"], "A-2")]


def test_amendments_of_the_same_minute_count_by_their_number() -> None:
    log = log_with("""
        amend, A-1, 2026-01-01T09:20, animation, ana, wick, 010-020, 1-12
        amend, A-1, 2026-01-01T09:20, animation, ana, wick, 010-020, 1-13
    """)
    assert view(log) == [("A-3", "A-1", "1-13")]


def test_the_branch_that_counts_is_followed_on() -> None:
    log = log_with("""
        amend, A-1, , animation, ana, wick, 010-020, 1-12
        amend, A-1, , animation, ana, wick, 010-020, 1-13
        amend, A-3, , animation, ana, wick, 010-020, 1-14
    """)
    assert view(log) == [("A-4", "A-1", "1-14")]
    assert forks(log) == [("A-1", ["A-2", "A-3"], "A-3")]


def test_a_late_amendment_of_the_branch_that_lost_does_not_win() -> None:
    # A-4 knows only A-2. The fork is between was logged later.
    log = log_with("""
        amend, A-1, , animation, ana, wick, 010-020, 1-12
        amend, A-1, , animation, ana, wick, 010-020, 1-13
        amend, A-2, , animation, ana, wick, 010-020, 1-14
    """)
    assert view(log) == [("A-3", "A-1", "1-13")]


def test_voiding_one_of_two_amendments_settles_the_fork() -> None:
    log = log_with("""
        amend, A-1, , animation, ana, wick, 010-020, 1-12
        amend, A-1, , animation, ana, wick, 010-020, 1-13
        void, A-3, , , , , , , A-2 was right
    """)
    assert view(log) == [("A-2", "A-1", "1-12")]
    assert forks(log) == []


def test_entries_stand_in_the_order_of_their_first_line() -> None:
    log = log_with(
        "amend, A-1, , animation, ana, wick, 010-020, 1-12",
        ONE_ENTRY + "    animation, ben, brine, 31-48, 010-020, 2026-03-03\n",
    )
    assert view(log) == [("A-3", "A-1", "1-12"), ("A-2", "A-2", "31-48")]


# --- What an entry implies


def entry_of(columns: str, cells: str) -> Entry:
    (entry,) = small_ledger(f"{FILM}\n[entries]\ncraft, person, {columns}\n{cells}").entries
    return entry


@pytest.mark.parametrize(
    ("columns", "cells", "character", "puppet"),
    [
        ("character", "animation, ana, wick", "wick", None),  # two copies: unknown
        ("character", "animation, ana, brine", "brine", "brine-1"),  # the only copy
        ("character", "voice, ana, brine", "brine", "brine-1"),
        ("puppet", "animation, ana, wick-2", "wick", "wick-2"),
        ("part", "animation, ana, smile", "wick", None),
        ("part", "faces, ana, screw", None, None),
        # A build on a character is on the character, however few copies it has.
        ("character", "sculpt, ana, brine", "brine", None),
    ],
)
def test_the_character_and_the_puppet(
    columns: str, cells: str, character: str | None, puppet: str | None
) -> None:
    entry = entry_of(columns, cells)
    assert (entry.character, entry.puppet) == (character, puppet)


@pytest.mark.parametrize(
    ("columns", "cells", "take"),
    [
        ("character, shot", "animation, ana, wick, 010-020", 1),
        ("character, shot, take", "animation, ana, wick, 010-020, 2", 2),
        ("character, shot", "voice, ana, wick, 010-020", None),  # every take
        ("character", "animation, ana, wick", None),  # on no shot
    ],
)
def test_the_take(columns: str, cells: str, take: int | None) -> None:
    assert entry_of(columns, cells).take == take


@pytest.mark.parametrize(
    ("columns", "cells", "frames"),
    [
        ("character, shot", "animation, ana, wick, 010-020", "1-48"),
        ("character, shot, frames", "animation, ana, wick, 010-020, 5-9", "5-9"),
        ("character, shot, frames", "animation, ana, wick, 010-020, 40-60", "40-60"),
        ("character", "voice, ana, wick", None),
    ],
)
def test_the_frames(columns: str, cells: str, frames: str | None) -> None:
    entry = entry_of(columns, cells)
    assert (entry.frames.text if entry.frames is not None else None) == frames


@pytest.mark.parametrize(
    ("columns", "dates", "day"),
    [
        ("started_on, finished_on", "2026-03-02, 2026-03-05", date(2026, 3, 5)),
        ("started_on, finished_on", "2026-03-02, ", date(2026, 3, 2)),
        ("started_on, finished_on", ", ", None),
    ],
)
def test_the_day_is_when_it_was_finished_or_else_begun(
    columns: str, dates: str, day: date | None
) -> None:
    assert entry_of(columns, f"sculpt, ana, {dates}").day == day


# --- One person


def people(same_as: str) -> Ledger:
    codes = {line.split(",")[0].strip() for line in same_as.strip().splitlines()}
    worked = "\n".join(f"sculpt, {code}" for code in sorted(codes))
    jobs = "\n".join(sorted(codes))
    return small_ledger(f"""
        [people]
        person, same_as
        {same_as}
        [entries]
        craft, person
        {worked}
        [engagements]
        person
        {jobs}
    """)


def test_two_codes_of_one_person_are_one_person_everywhere() -> None:
    ledger = people("ana\nann, ana\nben")
    assert {entry.person for entry in ledger.entries} == {"ana", "ben"}
    assert len(ledger.entries_by_person["ana"]) == 2
    assert len(ledger.engagements["ana"]) == 2
    assert ledger.person("ann").code == "ana"
    assert ledger.codes_of("ana") == ("ana", "ann")
    assert ledger.codes_of("ben") == ("ben",)
    assert ledger.entries[1].work.person == "ann"  # as it was written


def test_same_as_is_followed_to_its_end() -> None:
    ledger = people("ana\nann, ana\nannie, ann\nanna, annie")
    assert set(ledger.one_person.values()) == {"ana"}


@pytest.mark.parametrize(
    ("same_as", "one"),
    [
        ("ana, ben\nben, ana", {"ana": "ana", "ben": "ana"}),
        ("ana, ana", {"ana": "ana"}),
        ("ana, cai\nben, ana\ncai, ben", {"ana": "ana", "ben": "ana", "cai": "ana"}),
        # dov leads into a circle, and is who the circle is
        ("ben, cai\ncai, ben\ndov, cai", {"ben": "ben", "cai": "ben", "dov": "ben"}),
        ("ben, cai\ncai, ben\nana, cai", {"ben": "ben", "cai": "ben", "ana": "ben"}),
    ],
)
def test_codes_in_a_circle_stand_for_the_first_of_them(same_as: str, one: dict[str, str]) -> None:
    assert people(same_as).one_person == one


# --- The rest of the ledger


def test_an_empty_production_is_a_ledger() -> None:
    ledger = small_ledger("")
    assert ledger.entries == ()
    assert ledger.last_line is None
    assert ledger.last_day is None
    assert ledger.cut is None


def test_a_take_that_was_never_entered_is_an_open_shoot_take() -> None:
    take = small_ledger(FILM).take("010-020", 4)
    assert (take.purpose.value, take.decision.value, take.decided_on) == ("shoot", "open", None)


def test_logs_of_two_units_stand_by_origin_and_number() -> None:
    ledger = small_ledger("""
        [people]
        person
        ana
        [lines]
        number, verb, craft, person
        B-1, record, sculpt, ana
        A-7, record, paint, ana
        A-10, record, mould, ana
    """)
    assert [str(entry.number) for entry in ledger.entries] == ["A-7", "A-10", "B-1"]
    assert ledger.last_line == EntryNumber("B", 1)


# --- What entries say together


def test_work_of_several_days_was_begun_on_the_first_day_of_any_of_it() -> None:
    ledger = small_ledger(f"""{FILM}
    [entries]
    craft, person, character, started_on, finished_on, minutes
    sculpt, ana, wick, 2026-03-04, 2026-03-09, 60
    sculpt, ana, wick, , 2026-03-06, 30
    sculpt, ana, brine, , , 10
    """)
    (work,) = ledger.by_craft["sculpt"]
    assert work.days == (date(2026, 3, 4), date(2026, 3, 9))
    assert (work.entries, work.minutes, work.characters) == (3, 100, {"wick", "brine"})


def test_the_lowest_line_of_some_work_is_that_of_the_lines_that_say_it_now() -> None:
    ledger = small_ledger(f"""{FILM}
    [lines]
    verb, corrects, craft, person, character
    record, , sculpt, ana, wick
    record, , sculpt, ana, brine
    amend, A-1, sculpt, ana, wick
    """)
    (work,) = ledger.done
    assert (work.first, work.lowest) == (("A", 1), ("A", 2))
