"""The law of the figures that are kept: renewed step by step, they are what is computed at once."""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import fields, replace
from itertools import chain, combinations
from pathlib import Path
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from credits.app.find import EntryFilter, find_text
from credits.billing.plan import CreditPlan
from credits.checks.answers import CheckNames
from credits.checks.chosen import CheckFilter
from credits.checks.rule import Check
from credits.figures.keep import kept_footage, open_figures, renew_figures
from credits.figures.kept_claims import kept_animated, kept_handled, kept_runs
from credits.figures.kept_hands import kept_reach, kept_ways
from credits.figures.kept_review import KeptReview
from credits.figures.lookups import EntryLookup, kept_ledger
from credits.figures.renewal import Depth
from credits.figures.snapshot import KeptSnapshot, Snapshot
from credits.footage.day import day_of_work
from credits.footage.table import By, Filters, footage_rows
from credits.model import facts
from credits.model.facts import EntryNumber
from credits.model.ledger import DoneInBrief, Entry, Ledger
from credits.model.log import Batch, NewLine, Verb, WrittenLog
from credits.model.replay import entries_with, replay
from credits.names import fold
from credits.review.review import Reviews
from credits.store.beside.figures_db import forget
from credits.store.beside.kept import FiguresFile
from credits.store.log import open_log
from credits.store.production import create_production
from credits.store.writer import LogWriter
from credits.units.film_time import WHOLE_TIME, Period
from tests.drawn import drawn
from tests.laws.strategies import (
    CRAFTS,
    DAYS,
    PRODUCTION,
    PUPPETS,
    cast,
    cuts,
    frame_sets,
    stages_and_shots,
    works,
)
from tests.laws.test_credits_laws import plans

BRIEF = (
    "number", "first", "ref", "craft", "person", "character", "puppet", "part", "sequence", "shot",
    "take", "day", "stage",
)  # fmt: skip
NOTES = ("Ça plie <b>mal</b>", "torn  EAR", "the ear s")
EMPTY: list[Path] = []
DEPTHS = (Depth.ENTRIES, Depth.FOOTAGE, Depth.REACH, Depth.CHECKS, Depth.EVERYTHING)


@contextmanager
def empty_production() -> Iterator[Path]:
    """A production without rows, in a folder of its own."""
    if not EMPTY:
        EMPTY.append(Path(tempfile.mkdtemp()) / "empty")
        create_production(EMPTY[0], PRODUCTION.title)
    with tempfile.TemporaryDirectory() as scratch:
        yield Path(shutil.copytree(EMPTY[0], Path(scratch) / "film"))


def brief(ledger: Ledger) -> list[tuple[Any, ...]]:
    return [tuple(getattr(entry, name) for name in BRIEF) for entry in ledger.brief]


def assert_kept_is_computed(folder: Path, depth: Depth, plan: CreditPlan) -> None:
    """Everything that is kept, as far as it is wanted, is what the log makes at once."""
    with open_log(folder) as log:
        snapshot = Snapshot(replay(log.read()), plan)
    computed = snapshot.ledger
    file = open_figures(folder, depth)
    try:
        kept = kept_ledger(file)
        for each in fields(Ledger):
            ours, theirs = getattr(kept, each.name), getattr(computed, each.name)
            if each.name == "brief":
                assert brief(kept) == brief(computed)
                continue
            assert ours == theirs, each.name
            if isinstance(theirs, dict):
                assert list(ours) == list(theirs), each.name
        for day in (*DAYS, *computed.undated_by_writing):
            assert day_of_work(kept, day) == day_of_work(computed, day)
        assert_what_is_held_is_the_work(file, computed)
        if Depth.FOOTAGE in depth:
            runs = kept_runs(file, kept)
            assert list(runs) == list(snapshot.runs)
            assert dict(runs) == snapshot.runs
            assert kept_footage(file, kept) == snapshot.footage
            animated = (each for own in snapshot.animated.values() for each in own)
            assert sorted(kept_animated(file)) == sorted(animated)
            handled = (each for own in snapshot.handled.values() for each in own)
            assert sorted(kept_handled(file), key=repr) == sorted(handled, key=repr)
            asked = KeptSnapshot(file, depth, lambda _: (plan, plan.name))
            assert asked.first_seen == snapshot.first_seen
            assert asked.how_far == snapshot.how_far
            assert asked.credits == snapshot.credits
            assert_what_is_read_together_is_equal(kept, computed)
            assert_footage_is_equal(asked, snapshot)
            assert_reviews_are_equal(asked, snapshot, KeptReview(file, asked.ledger))
        if Depth.REACH in depth:
            assert kept_reach(file, kept) == snapshot.reach
            ways = kept_ways(file, kept)
            for person in computed.people:
                assert ways.of(person) == snapshot.ways.of(person)
            asked = KeptSnapshot(file, depth, lambda _: (plan, plan.name))
            people = list(computed.people)
            # Two sites of one moment may show the pages of other people.
            for expected in (people[::2], people[1::2]):
                asked.expect_people(expected)
                for person in expected:
                    assert asked.reach_of(person) == snapshot.reach_of(person)
                    assert asked.ways_of(person) == snapshot.ways_of(person)
            assert set(asked.reached) == set(snapshot.reached)
            assert asked.hands_on == snapshot.hands_on
        if Depth.CHECKS in depth:
            asked = KeptSnapshot(file, depth, lambda _: (plan, plan.name))
            assert asked.checks == snapshot.checks
            assert_checks_of_a_day_are_equal(asked, snapshot)
    finally:
        file.close()


def assert_what_is_held_is_the_work(file: FiguresFile, computed: Ledger) -> None:
    """A ledger that has all at hand says of entries the same, but for who logged them and where
    they came from."""

    def work_alone(value: Any) -> Any:
        if isinstance(value, Entry):
            return replace(value, ref=None, logged_by=None, source=None)
        if type(value) is tuple:
            return tuple(map(work_alone, value))
        return {key: work_alone(own) for key, own in value.items()}

    lookup = EntryLookup(file, at_once=True, work_alone=True)
    held = kept_ledger(file, whole=True, lookup=lookup)
    names = [each.name for each in fields(Ledger) if each.name.startswith("entries")]
    for name in (*names, "by_number", "undated_by_writing"):
        assert getattr(held, name) == work_alone(getattr(computed, name)), name
    assert held.done == computed.done
    assert_what_is_read_together_is_equal(held, computed)


def assert_what_is_read_together_is_equal(kept: Ledger, computed: Ledger) -> None:
    """What somebody did in a craft says the same read together, entry by entry, by character."""
    for ours, theirs in zip(kept.done, computed.done, strict=True):
        assert ours.brief == DoneInBrief.of(ours.rows)
        assert (ours.days, ours.characters) == (theirs.days, theirs.characters)
        assert ours.by_character == theirs.by_character


def assert_footage_is_equal(kept: Snapshot, computed: Snapshot) -> None:
    """Footage is the same summed where it is kept, by whatever it is summed and filtered."""
    ledger, people = computed.ledger, frozenset(computed.footage_by_person)
    filters = (
        Filters(),
        Filters(from_on=DAYS[0], to_on=DAYS[1]),
        Filters(persons=frozenset(sorted(people)[:1])),
        Filters(characters=frozenset(["wick"]), sequences=frozenset(ledger.sequences)),
    )
    for by in chain.from_iterable(combinations(By, count) for count in (1, 2)):
        for chosen in filters:
            ours = footage_rows(kept.footage, ledger, by, chosen)
            assert ours == footage_rows(computed.footage, ledger, by, chosen), (by, chosen)
    assert set(kept.footage.claimed_days) == computed.footage.claimed_days
    assert kept.footage.shot_days == computed.footage.shot_days
    for person in computed.ledger.people:
        own = computed.footage_of_person(person)
        assert kept.footage_of_person(person) == own
        assert kept.footage.of_person(person).cells == (own.cells if own is not None else ())
    for shot, own in computed.footage_by_shot.items():
        assert kept.footage_of_shot(shot) == own


def assert_checks_of_a_day_are_equal(kept: Snapshot, computed: Snapshot) -> None:
    """The checks of a day are found without the others, and are called the same."""
    names, ledger = CheckNames(computed.checks), computed.ledger
    for day in (*DAYS, *ledger.undated_by_writing):
        undated = frozenset(e.number for e in ledger.undated_by_writing.get(day, ()))
        numbers = undated.union(e.number for e in ledger.entries_by_day.get(day, ()))
        wanted = CheckFilter(period=Period(day, day))

        def of_day(
            found: tuple[Check, ...],
            wanted: CheckFilter = wanted,
            undated: frozenset[EntryNumber] = undated,
        ) -> list[Check]:
            dated = wanted.of(found, ledger)
            return [c for c in found if c in dated or not undated.isdisjoint(c.entries)]

        theirs = [case for case in of_day(computed.checks) if case.of_days]
        assert of_day(kept.checks_near(day, numbers)) == theirs
        near = CheckNames(kept.checks_like(theirs))
        for case in theirs:
            assert near.words_for(case) == names.words_for(case)


def assert_reviews_are_equal(kept: Snapshot, computed: Snapshot, review: KeptReview) -> None:
    """What is said of each animator is the same, of what is kept and of the whole log."""
    ours, theirs = (Reviews(each.ledger, each.poses, each.footage) for each in (kept, computed))
    assert list(ours.works) == list(theirs.works)
    for person in theirs.works:
        for period in (WHOLE_TIME, Period(DAYS[0], DAYS[1])):
            assert ours.of(person, period) == theirs.of(person, period)
            assert ours.expectation(person, period) == theirs.expectation(person, period)
            alone = Reviews(kept.ledger, kept.poses, kept.footage, person, review)
            assert alone.of(person, period) == theirs.of(person, period)
            assert alone.expectation(person, period) == theirs.expectation(person, period)


def assert_entries_are_found(folder: Path) -> None:
    """Entries are found by their words and their day, and by what they are on, as if each was
    looked at."""
    with open_log(folder) as log:
        written = log.read()
    ledger = replay(written)

    def found(text: str, entries: EntryFilter | None = None) -> list[str]:
        matches = find_text(folder, text, entries).matches
        return [match.code for match in matches if match.kind == "entry"]

    for text in ("PLIE", "ear s", "r-1 ca", "torn ear r-2", DAYS[1].isoformat()):
        words, expected = fold(text).split(), []
        for entry in ledger.entries:
            said = fold(f"{entry.ref or ''} {entry.work.note or ''}")
            if all(word in said for word in words) or str(entry.day) == text:
                expected.append(str(entry.number))
        assert found(text) == expected, text
    person = ledger.one_person["ana"]
    one = EntryFilter(person=("ana",), period=Period(DAYS[0], DAYS[1]))
    assert found("", one) == [
        str(entry.number)
        for entry in ledger.entries_by_person.get(person, ())
        if entry.day is not None and DAYS[0] <= entry.day <= DAYS[1]
    ]
    for line in written.lines:
        own = entries_with(written, lambda each, line=line: each.number == line.number)
        assert find_text(folder, str(line.number)).history == own.lines


Step = Callable[[Path], None]


def written(make: Callable[[LogWriter, WrittenLog], Batch | None]) -> Step:
    """A step that writes what it makes of the log."""

    def step(folder: Path) -> None:
        with open_log(folder) as log, log.writing() as writer:
            batch = make(writer, writer.read())
            if batch is not None:
                writer.write(batch)

    return step


@st.composite
def new_lines(draw: st.DrawFn, log: WrittenLog) -> Step:
    """Entries, amendments and voids, of lines that are there by then."""
    verbs = draw(st.lists(st.sampled_from([*Verb, Verb.RECORD]), min_size=1, max_size=4))
    notes, refs = st.sampled_from((None, None, *NOTES)), st.sampled_from((None, "r-1", "r-2"))
    own_works, places = works(log), st.integers(0, 30)
    said = [
        (verb, replace(draw(own_works), note=draw(notes)), draw(places), draw(refs))
        for verb in verbs
    ]

    def make(_: LogWriter, now: WrittenLog) -> Batch:
        lines = []
        voids = {line.number for line in now.lines if line.verb is Verb.VOID}
        there = [line.number for line in now.lines if line.number not in voids]
        for verb, drawn_work, at, own_ref in said:
            work = drawn_work
            if verb is not Verb.RECORD and not there:
                continue
            corrects = None if verb is Verb.RECORD else there[at % len(there)]
            if work.finished_on is not None and work.started_on is not None:
                work = replace(work, started_on=min(work.started_on, work.finished_on))
            own = None if verb is Verb.VOID else work
            ref = None if verb is Verb.VOID else own_ref
            lines.append(NewLine(verb=verb, work=own, corrects=corrects, ref=ref))
        return Batch(lines=tuple(lines))

    return written(make)


@st.composite
def new_rows(draw: st.DrawFn, log: WrittenLog) -> Step:
    """Rows of tables that change, or come in."""
    people, characters = log.people, [each.code for each in log.characters]
    puppets, shots = [each.code for each in log.puppets], log.shots
    shot = draw(st.sampled_from(shots))
    person = draw(st.sampled_from(people))
    others = [None, *(each.code for each in people if each.code != person.code)]
    craft = draw(st.sampled_from(CRAFTS))
    character = draw(st.sampled_from(characters))
    rows: dict[str, tuple[Any, ...]] = draw(
        st.sampled_from(
            [
                {"people": (replace(person, same_as=draw(st.sampled_from(others))),)},
                {"people": (replace(person, credit_name="Somebody Else"),)},
                {"people": (facts.Person(code="eva", credit_name="Eva"),)},
                {"characters": (facts.Character(code=character, name="Other", silent=True),)},
                {
                    "engagements": (
                        facts.Engagement(
                            person=person.code,
                            department="Animation",
                            job_title="Animator",
                            ends_on=draw(st.sampled_from((None, *DAYS))),
                        ),
                    )
                },
                {"crafts": (replace(craft, footage=not craft.footage),)},
                {"crafts": (replace(craft, repair=True, department="Elsewhere"),)},
                {
                    "puppets": (
                        facts.Puppet(code=draw(st.sampled_from(PUPPETS)), character=character),
                    )
                },
                {"shots": (replace(shot, length=draw(st.integers(4, 24))),)},
                {"shots": (replace(shot, status=draw(st.sampled_from(facts.ShotStatus))),)},
                {"shots": (replace(shot, sequence=draw(st.sampled_from(("010", "020")))),)},
                {
                    "takes": (
                        facts.Take(
                            shot=shot.code,
                            number=draw(st.sampled_from((1, 2, 3))),
                            purpose=draw(st.sampled_from(list(facts.Purpose))),
                            decision=draw(st.sampled_from(list(facts.Decision))),
                            decided_on=draw(st.sampled_from((None, *DAYS))),
                        ),
                    )
                },
                *(
                    [
                        {
                            "fittings": (
                                facts.Fitting(
                                    part=draw(st.sampled_from(log.parts)).code,
                                    puppet=draw(st.sampled_from(puppets)),
                                    from_on=DAYS[0],
                                    to_on=draw(st.sampled_from((None, *DAYS))),
                                ),
                            )
                        },
                        {
                            "replacements": (
                                facts.Replacement(
                                    shot=shot.code,
                                    take=draw(st.sampled_from((None, 1, 2))),
                                    character=character,
                                    part=draw(st.sampled_from(log.parts)).code,
                                    frames=draw(frame_sets(24)),
                                ),
                            )
                        },
                        {
                            "parts": (
                                replace(
                                    draw(st.sampled_from(log.parts)),
                                    character=draw(st.sampled_from((None, *characters))),
                                ),
                            )
                        },
                    ]
                    if log.parts
                    else []
                ),
            ]
        )
    )
    return written(lambda *_: Batch(**rows))


@st.composite
def new_cuts(draw: st.DrawFn, log: WrittenLog) -> Step:
    """Another cut comes in, or an older one is used again."""
    cut = draw(cuts(log.shots))
    is_old = draw(st.booleans())

    def make(writer: LogWriter, now: WrittenLog) -> Batch | None:
        if is_old and now.cut_versions:
            writer.use_cut(now.cut_versions[0].version)
            return None
        return Batch(cut=cut)

    return written(make)


def looked_at(depth: Depth, most: int | None) -> Step:
    """Somebody asks, or the command that wrote renews as far as it may."""

    def step(folder: Path) -> None:
        if most is None:
            open_figures(folder, depth).close()
        else:
            renew_figures(folder, most)

    return step


def steps(log: WrittenLog) -> st.SearchStrategy[list[Step]]:
    """What happens to a production, one thing after the other."""
    looks = st.builds(looked_at, st.sampled_from(DEPTHS), st.sampled_from((None, None, 0, 1, 40)))
    one = st.one_of(new_lines(log), new_lines(log), new_rows(log), new_cuts(log), looks, looks)
    return st.lists(st.one_of(one, one, one, st.just(forget)), min_size=2, max_size=9)


@settings(max_examples=drawn(200), deadline=None)
@given(data=st.data())
def test_figures_renewed_step_by_step_are_those_computed_at_once(data: st.DataObject) -> None:
    bare = WrittenLog(
        production=PRODUCTION,
        crafts=CRAFTS,
        **data.draw(cast()),
        **data.draw(stages_and_shots()),
    )
    # A log of people who are one is read like any other; here they become one later.
    people = tuple(replace(person, same_as=None) for person in bare.people)
    bare = replace(bare, people=people)
    tables = {
        each.name: getattr(bare, each.name) for each in fields(Batch) if hasattr(bare, each.name)
    }
    tables |= {"people": people, "lines": (), "cut": None}
    tables["engagements"] = ()
    tables["fittings"] = tuple(f for f in bare.fittings if f.to_on is None or f.from_on <= f.to_on)
    with empty_production() as folder:
        written(lambda *_: Batch(**tables))(folder)
        for step in data.draw(steps(bare)):
            step(folder)
        assert_kept_is_computed(folder, data.draw(st.sampled_from(DEPTHS)), data.draw(plans))
        assert_entries_are_found(folder)
