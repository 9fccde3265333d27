"""Laws of reviews: nothing is lost between weeks, shots and the period, whatever was logged."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import given, settings

from credits.footage.footage import NO_FOOTAGE, summed, work_time
from credits.model.log import WrittenLog
from credits.model.replay import replay
from credits.review.days import figures_of, figures_together, poses, poses_on
from credits.review.review import Reviews
from credits.review.shown import shown_review
from credits.units.film_time import Period
from credits.units.table import PrintedCell, Unit
from tests.computed import footage_of
from tests.drawn import drawn
from tests.laws.strategies import DAYS, productions

MANY = settings(max_examples=drawn(50), deadline=None)


def made(log: WrittenLog) -> tuple[Reviews, dict[str, object]]:
    ledger = replay(log)
    runs, _, footage = footage_of(ledger)
    return Reviews(ledger, poses(ledger, runs, poses_on(ledger)), footage), dict(
        footage.by(lambda cell: cell.person)
    )


@MANY
@given(log=productions())
def test_the_weeks_add_up_to_the_period(log: WrittenLog) -> None:
    reviews, _ = made(log)
    for person in reviews.works:
        for period in (Period(), Period(DAYS[0], DAYS[1]), Period(first=DAYS[2])):
            review = reviews.of(person, period)
            assert figures_together(row.figures for row in review.weeks) == review.total


@MANY
@given(log=productions())
def test_months_sequences_and_characters_lose_nothing(log: WrittenLog) -> None:
    reviews, _ = made(log)
    for person in reviews.works:
        review = reviews.of(person)
        dated = [row.figures for row in review.weeks if row.week is not None]
        assert figures_together(m.figures for m in review.months) == figures_together(dated)
        on_shots = [own for shot, own in review.shots.items() if shot is not None]
        for name in ("poses", "wait", "minutes"):
            of_sequences = sum(getattr(own.figures, name) for own in review.sequences)
            assert of_sequences == sum(getattr(own, name) for own in on_shots)
        assert summed(own.figures.totals for own in review.sequences) == review.total.totals
        assert summed(own.totals for own in review.characters.values()) == review.total.totals
        for sequence in review.sequences:
            # The range in a sequence is that of what each of the others did on its shots.
            others = {
                other: figures_of(
                    work
                    for work in works
                    if work.shot is not None
                    and reviews.ledger.shots[work.shot].sequence == sequence.sequence
                )
                for other, works in reviews.works.items()
                if other != person
            }
            days = [own.stage_days for own in others.values() if own.stage_days]
            assert sequence.others == len(days)
            assert ("stage_days" in sequence.ranges) is (len(days) >= 3)
            if len(days) >= 3:
                found = sequence.ranges["stage_days"]
                assert (found.low, found.high) == (min(days), max(days))


@MANY
@given(log=productions())
def test_what_a_review_counts_is_the_persons_footage_and_time(log: WrittenLog) -> None:
    reviews, footage = made(log)
    ledger = reviews.ledger
    for person in reviews.works:
        total = reviews.of(person).total
        own = [e for e in ledger.entries_by_person.get(person, ()) if ledger.is_footage(e)]
        time = work_time(ledger, own)
        assert total.totals == footage.get(person, NO_FOOTAGE)
        assert total.stage_days == len(time.stage_days)
        assert total.shoot_days == len(time.shoot_days)
        assert total.block_days == len(time.block_days)
        assert total.rehearsal_days == len(time.rehearsal_days)
        assert total.minutes == time.minutes
    assert set(footage) <= set(reviews.works)


@MANY
@given(log=productions())
def test_the_shots_add_up_to_all_but_the_days(log: WrittenLog) -> None:
    reviews, _ = made(log)
    for person in reviews.works:
        review = reviews.of(person)
        by_week = [own for week in review.weeks for own in week.shots.values()]
        for figures in (list(review.shots.values()), by_week):
            assert summed(f.totals for f in figures) == review.total.totals
            for name in ("poses", "wait", "minutes"):
                assert sum(getattr(f, name) for f in figures) == getattr(review.total, name)


@MANY
@given(log=productions())
def test_on_ones_a_kept_frame_is_a_pose(log: WrittenLog) -> None:
    reviews, _ = made(log)
    for person in reviews.works:
        total = reviews.of(person).total
        assert total.poses == total.totals.character.kept


@MANY
@given(log=productions())
def test_a_repair_counts_once_for_a_person_and_only_on_puppets_they_animated(
    log: WrittenLog,
) -> None:
    lines = tuple(
        replace(line, work=replace(line.work, wait_minutes=7)) if line.work is not None else line
        for line in log.lines
    )
    reviews, _ = made(replace(log, lines=lines))
    for person in reviews.works:
        waits = reviews.of(person).waits
        assert len({wait.entry for wait in waits}) == len(waits)
        own = {
            entry.puppet
            for entry in reviews.ledger.entries_by_person.get(person, ())
            if reviews.ledger.is_footage(entry)
        }
        assert {wait.puppet for wait in waits} <= own
        assert reviews.of(person).total.wait == 7 * len(waits)


def number(cell: PrintedCell) -> int:
    return int(str(cell.text).replace(",", "").replace(".", ""))


@MANY
@given(log=productions())
def test_printed_columns_add_up(log: WrittenLog) -> None:
    reviews, _ = made(log)
    for person in reviews.works:
        shown = shown_review(reviews.of(person), reviews.ledger)
        for table in (part.table.printed() for part in shown.tables if part.table.label):
            for at, column in enumerate(table.columns):
                if column.adds_up and column.unit is not Unit.FEET:
                    figures = sum(number(row[at]) for row in table.rows)
                    assert figures == number(table.total[at]), column.key


@MANY
@given(log=productions())
def test_a_range_never_has_fewer_than_three_others_and_holds_them_all(log: WrittenLog) -> None:
    reviews, _ = made(log)
    for person in reviews.works:
        review = reviews.of(person)
        for found in (
            *review.ranges.values(),
            *(
                r
                for part in (*review.weeks, *review.months, *review.sequences)
                for r in part.ranges.values()
            ),
        ):
            assert 3 <= found.others < len(reviews.works)
            assert found.low <= found.high
