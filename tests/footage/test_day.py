"""One day: what each place has logged, what it was on, and who has nothing."""

from __future__ import annotations

from datetime import date

from credits.footage.day import DayOfWork, Workplace, day_of_work, lacking, underway
from credits.model.ledger import Ledger
from tests.small_log import FIRST_LOGGED_AT, small_ledger

STAGE_1 = Workplace(stage="s1")
PUPPETS = Workplace(department="Puppets")
TUESDAY = date(2026, 3, 3)


def a_week() -> Ledger:
    return small_ledger(
        """
        [people]
        person
        ana
        ben
        cai
        dee

        [engagements]
        person, department, job_title, starts_on, ends_on
        ana, Animation, Animator, 2026-01-05
        ben, Animation, Animator, 2026-01-05
        cai, Puppets, Painter, 2026-03-01, 2026-03-31
        dee, Puppets, Painter, 2026-01-05, 2026-03-02

        [characters]
        character
        wick

        [puppets]
        puppet, character
        wick-1, wick

        [sequences]
        sequence
        010

        [shots]
        shot, sequence, frames, status
        010-020, 010, 60, shooting
        010-030, 010, 24, done

        [stages]
        stage
        s1
        s2

        [entries]
        craft, person, character, puppet, shot, take, frames, finished_on, minutes, stage
        animation, ana, wick, wick-1, 010-020, 1, 1-30, 2026-03-02, 480, s1
        animation, ben, wick, , 010-030, 1, 1-24, 2026-03-02, , s2
        animation, ana, wick, wick-1, 010-020, 1, , 2026-03-03, , s1
        paint, dee, wick, , , , , 2026-02-01, 60
        paint, dee, wick, , , , , , 60
        """
    )


def test_a_day_is_told_by_stage_and_workshop() -> None:
    day = day_of_work(a_week(), TUESDAY)
    assert [place.place for place in day.places] == [STAGE_1, Workplace(stage="s2"), PUPPETS]
    assert [str(entry.number) for entry in day.entries] == ["A-3"]
    assert [str(entry.number) for entry in day.places[0].before] == ["A-1"]
    assert day.places[0].before_on == date(2026, 3, 2)


def test_who_is_engaged_and_has_nothing_stands_where_they_were_last() -> None:
    day = day_of_work(a_week(), TUESDAY)
    idle = {place.place.name: place.idle for place in day.places}
    # Ben was on stage s2 the day before; Cai has worked nowhere yet; Dee's engagement has ended.
    assert idle == {"s1": (), "s2": ("ben",), "Puppets": ("cai",)}


def test_nobody_is_asked_for_before_or_after_their_engagement() -> None:
    day = day_of_work(a_week(), date(2025, 12, 24))
    assert day.places == ()


def test_an_undated_entry_is_of_the_day_on_which_it_was_written_down() -> None:
    assert [str(e.number) for e in day_of_work(a_week(), FIRST_LOGGED_AT.date()).undated] == ["A-5"]
    assert day_of_work(a_week(), TUESDAY).undated == ()


def test_what_a_complete_entry_would_have() -> None:
    ledger = a_week()
    assert [lacking(ledger, entry) for entry in ledger.entries] == [
        (),
        ("minutes",),
        ("frames", "minutes"),
        (),
        ("finished_on",),
    ]


def test_a_sheet_begins_with_the_next_frame_of_what_the_place_was_on() -> None:
    ledger = a_week()
    first, second = (
        underway(ledger, place)
        for place in day_of_work(ledger, date(2026, 3, 4)).places
        if place.place.stage
    )
    # A-3 claims all 60 frames of its shot, and the shot of A-2 is finished: no next frame is left.
    assert [(row.person, row.shot, row.next_frame) for row in (*first, *second)] == [
        ("ana", None, None),
        ("ben", None, None),
    ]
    assert {row.puppet for row in (*first, *second)} == {"wick-1"}
    (place, *_) = day_of_work(ledger, TUESDAY).places
    assert place.before[0].number.number == 1


def test_the_next_frame_follows_the_last_one_of_the_take() -> None:
    ledger = small_ledger(
        """
        [people]
        person
        ana

        [characters]
        character
        wick
        brine

        [sequences]
        sequence
        010

        [shots]
        shot, sequence, frames, status
        010-020, 010, 60, shooting

        [stages]
        stage
        s1

        [entries]
        craft, person, character, shot, take, frames, poses_on, finished_on, stage
        animation, ana, wick, 010-020, 1, 1-30, 2, 2026-03-02, s1
        animation, ana, wick, 010-020, 2, 1-12, 2, 2026-03-03, s1
        animation, ana, brine, 010-020, 2, 1-10, 1, 2026-03-03, s1
        """
    )
    (place,) = day_of_work(ledger, date(2026, 3, 4)).places
    assert [(row.character, row.take, row.next_frame) for row in underway(ledger, place)] == [
        ("wick", 2, 13),
        ("brine", 2, 11),
    ]


def test_a_production_without_entries_has_empty_days() -> None:
    assert day_of_work(small_ledger(""), TUESDAY) == DayOfWork(TUESDAY, (), ())


def test_what_has_nothing_yet_is_the_work_that_does_not_go_on() -> None:
    ledger = small_ledger(
        """
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

        [parts]
        part, kind
        hook, rig

        [stages]
        stage
        s1

        [entries]
        craft, person, character, puppet, part, stage, finished_on
        animation, ana, wick, wick-1, , s1, 2026-03-02
        animation, ana, brine, , , s1, 2026-03-02
        animation, ben, wick, wick-1, , s1, 2026-03-02
        rigging, ben, , , hook, s1, 2026-03-02
        animation, ana, , wick-2, , s1, 2026-03-03
        """
    )
    (stage,) = day_of_work(ledger, TUESDAY).places
    # Ana's Wick goes on with another copy; her Brine, Ben's Wick and his hook do not.
    assert [str(entry.number) for entry in stage.not_yet] == ["A-2", "A-3", "A-4"]


def test_what_a_place_was_on_is_told_for_a_fortnight_and_no_longer() -> None:
    # Stages s1 and s2 last worked on 3 and on 2 March.
    for day, names in ((16, ["s1", "s2"]), (17, ["s1"]), (18, [])):
        places = day_of_work(a_week(), date(2026, 3, day)).places
        assert [place.place.name for place in places if place.before] == names
