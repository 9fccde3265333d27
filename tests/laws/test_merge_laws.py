"""The laws of joining two logs: nothing is lost, and it does not matter who takes in whom."""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import fields, replace
from itertools import permutations
from pathlib import Path
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from credits.app.logs.merge import MergedLog, merge_logs
from credits.app.logs.merge_sheet import (
    CUT,
    KEEPS,
    SAME,
    About,
    Decided,
    MergeChoices,
    MergeQuestion,
)
from credits.app.production import snapshot_of
from credits.billing.proofs import credits_to_json
from credits.errors import ProblemsFound
from credits.figures.renewal import Depth
from credits.model import facts
from credits.model.facts import EntryNumber
from credits.model.log import Batch, LogLine, NewLine, RowCorrection, Verb, WrittenLog
from credits.store.log import open_log
from credits.store.production import create_production
from credits.store.seals.verify import verify
from credits.store.writer import LogWriter
from tests.drawn import FULL
from tests.laws.strategies import CRAFTS, DAYS, PRODUCTION, cast, cuts, stages_and_shots
from tests.laws.test_credits_laws import plans
from tests.laws.test_kept_laws import (
    Step,
    assert_kept_is_computed,
    looked_at,
    new_lines,
    new_rows,
    written,
)

EMPTY: dict[str, Path] = {}
UNITS = ("main", "second", "third")


@contextmanager
def units_of_a_film(count: int) -> Iterator[list[Path]]:
    """Empty productions of one film, with letters of their own."""
    if not EMPTY:
        kept = Path(tempfile.mkdtemp())
        for name, origin in zip(UNITS, "ABC", strict=True):
            EMPTY[name] = create_production(kept / name, PRODUCTION.title, origin=origin)
    with tempfile.TemporaryDirectory() as scratch:
        yield [Path(shutil.copytree(EMPTY[n], Path(scratch) / n)) for n in UNITS[:count]]


def word_for(question: MergeQuestion) -> str:
    """A decision that is the same whoever is asked: it goes by what is said, never by the side."""
    if question.answers != KEEPS:
        return SAME if SAME in question.answers else question.answers[0]
    said = [question.ours, question.theirs]
    if question.list == CUT:
        said = [each.split(", ", 1)[1] for each in said]  # versions are each log's own
    return KEEPS[said.index(min(said))]


def take_in(folder: Path, other: Path) -> MergedLog:
    """Join the logs; whatever is to be decided is."""
    decided: dict[About, Decided] = {}
    while True:
        done = merge_logs(folder, other, MergeChoices(single=decided, by="ana"))
        if not done.questions:
            return done
        assert done.is_new
        assert not done.is_written
        assert {each.about for each in done.asked} >= decided.keys()
        # What both logs say of two rows that are one is asked when it is known that they are.
        new = {each.about: Decided(keep=word_for(each)) for each in done.questions}
        assert decided.keys().isdisjoint(new)
        decided |= new


def read(folder: Path) -> WrittenLog:
    with open_log(folder) as log:
        return log.read()


def lines_of(folder: Path) -> dict[EntryNumber, LogLine]:
    return {line.number: line for line in read(folder).lines}


def figures_of(folder: Path) -> tuple[Any, ...]:
    """Everything that is computed of a log.

    Each log numbers the versions of its cut, and writes down for itself that a day came into the
    list of people.
    """
    log = read(folder)
    if log.cut is not None:
        log = replace(log, cut=replace(log.cut, version=1))
    lists = {
        each.name: set(getattr(log, each.name)) for each in fields(Batch) if each.name in LISTS
    }
    snapshot = snapshot_of(log, folder)
    cells = sorted(map(repr, snapshot.footage.cells))
    rolled = credits_to_json(snapshot.credits)
    words = {
        person: (word.name, word.confirmed_on, word.is_right)
        for person, word in snapshot.ledger.confirmations.items()
    }
    return lists, cells, snapshot.reach, rolled, snapshot.checks, words


LISTS = (
    "crafts", "people", "engagements", "characters", "puppets", "parts", "fittings", "sequences",
    "shots", "stages", "takes", "replacements",
)  # fmt: skip


def position_of(folder: Path) -> tuple[int, ...]:
    with open_log(folder) as log:
        return log.position()


# --- what a unit does by itself


@st.composite
def new_cuts(draw: st.DrawFn, log: WrittenLog) -> Step:
    """Another cut comes in, or an older one is used again."""
    number = draw(st.integers(1, 10**9))
    cut = replace(draw(cuts(log.shots)), source=f"cut-{number}.csv", length=number)
    is_old = draw(st.booleans())

    def make(writer: LogWriter, now: WrittenLog) -> Batch | None:
        if is_old and now.cut_versions:
            writer.use_cut(now.cut_versions[0].version)
            return None
        return Batch(cut=cut)

    return written(make)


@st.composite
def other_words(draw: st.DrawFn, log: WrittenLog) -> Step:
    """An answer to a check, or a word on how a name is spelled; or a day in the list of people."""
    person = draw(st.sampled_from(log.people))
    day, name = draw(st.sampled_from(DAYS)), draw(st.sampled_from(("Ana B", "Ana C")))
    kind = draw(st.sampled_from(("answer", "word", "day")))
    answer = facts.NewSettlement(
        check="frames-unclaimed",
        subjects=(("shot", draw(st.sampled_from(log.shots)).code),),
        facts="standing:1",
        why=draw(st.sampled_from(("Known.", "Asked."))),
        taken_back=draw(st.booleans()),
    )
    word = facts.NewConfirmation(
        person=person.code, name=name, confirmed_on=day, is_right=draw(st.booleans())
    )

    def make(_: LogWriter, now: WrittenLog) -> Batch:
        if kind == "answer":
            return Batch(settlements=(answer,))
        if kind == "word":
            return Batch(confirmations=(word,))
        [own] = (each for each in now.people if each.code == person.code)
        return Batch(people=(replace(own, name_confirmed_on=day),))

    return written(make)


@st.composite
def rows_put_right(draw: st.DrawFn, _: WrittenLog) -> Step:
    """A row of a list is voided, or another takes its place; unless something names it."""
    coded = ("puppets", "parts", "people", "characters")
    table = draw(st.sampled_from(("fittings", "takes", "replacements", "engagements", *coded)))
    at, is_void = draw(st.integers(0, 9)), draw(st.booleans())

    def make(_: LogWriter, now: WrittenLog) -> Batch | None:
        rows = getattr(now, table)
        if not rows:
            return None
        row, instead = rows[at % len(rows)], None
        if not is_void and table == "engagements":
            instead = replace(row, job_title="Runner of runners")
        elif not is_void and table in coded:
            instead = replace(row, code=f"{row.code}-a")
        if instead is not None and instead in rows:
            return None
        new = RowCorrection(table=table, row=row, instead=instead, why="Misread.")
        return Batch(corrections=(new,))

    put_right = written(make)

    def step(folder: Path) -> None:
        with suppress(ProblemsFound):
            put_right(folder)

    return step


TWO_SPELLINGS = {
    "characters": ("brine-21", "brine_21"),
    "puppets": ("wick-31", "wick 31"),
    "parts": ("wick-face-41", "wick.face.041"),
    "sequences": ("seq-51", "seq51"),
    "stages": ("S-61", "S 061"),
}


@st.composite
def rows_spelled_otherwise(draw: st.DrawFn, log: WrittenLog) -> Step:
    """A row that another unit may have too, under another code; and rows that name it."""
    table = draw(st.sampled_from([*TWO_SPELLINGS]))
    at = {name: draw(st.integers(0, 1)) for name in TWO_SPELLINGS}
    code = {name: TWO_SPELLINGS[name][spelled] for name, spelled in at.items()}
    note, day = draw(st.sampled_from((None, "One.", "Other."))), draw(st.sampled_from(DAYS))
    named, is_worked = draw(st.booleans()), draw(st.sampled_from((False, False, True)))
    old = log.characters[0].code
    cast = facts.Character(code=code["characters"], name="Brine the Second", note=note)
    # Entries name no new character: in which order a line has its characters, each log says itself.
    of = cast.code if named and not is_worked and table != "characters" else old
    puppet = facts.Puppet(code=code["puppets"], character=of, note=note)
    part = facts.Part(code=code["parts"], kind="face", character=of, note=note)
    sequence = facts.Sequence(code=code["sequences"], name=note)
    stage = facts.Stage(code=code["stages"], unit=note)
    with_cast = (cast,) if of == cast.code or table == "characters" else ()
    shot = replace(log.shots[0], sequence=sequence.code)
    fitting = facts.Fitting(part=part.code, puppet=log.puppets[0].code, from_on=day)
    batch = {
        "characters": Batch(
            characters=(cast,),
            parts=(facts.Part(code="new", kind="face", character=cast.code),) if named else (),
        ),
        "puppets": Batch(characters=with_cast, puppets=(puppet,)),
        "parts": Batch(characters=with_cast, parts=(part,), fittings=(fitting,) if named else ()),
        "sequences": Batch(sequences=(sequence,), shots=(shot,) if named else ()),
        "stages": Batch(stages=(stage,)),
    }[table]
    work = {
        "puppets": {"puppet": puppet.code},
        "parts": {"part": part.code},
    }.get(table)
    if is_worked and work is not None:
        line = facts.Work(craft="paint", person=log.people[0].code, finished_on=day, **work)
        batch = replace(batch, lines=(NewLine(verb=Verb.RECORD, work=line),))
    step = written(lambda *_: batch)

    def make(folder: Path) -> None:
        with suppress(ProblemsFound):
            step(folder)

    return make


def steps(log: WrittenLog) -> st.SearchStrategy[Step]:
    return st.one_of(
        new_lines(log),
        new_lines(log),
        new_rows(log),
        new_rows(log),
        new_cuts(log),
        other_words(log),
        rows_put_right(log),
        rows_spelled_otherwise(log),
        st.builds(looked_at, st.just(Depth.FIGURES), st.sampled_from((None, 1, 40))),
    )


def first_batch(data: st.DataObject) -> tuple[WrittenLog, Batch]:
    """What the main unit has before there is another."""
    bare = WrittenLog(
        production=PRODUCTION,
        crafts=CRAFTS,
        **data.draw(cast()),
        **data.draw(stages_and_shots()),
    )
    people = tuple(replace(person, same_as=None) for person in bare.people)
    bare = replace(bare, people=people)
    tables = {name: getattr(bare, name) for name in LISTS}
    tables["engagements"] = tables["engagements"][:1]
    tables["fittings"] = tuple(f for f in bare.fittings if f.to_on is None or f.from_on <= f.to_on)
    return bare, Batch(**tables)


# --- the laws


NIGHTS = 60 if FULL else 9
"""Examples: each of them writes, joins and computes several logs."""


@settings(max_examples=NIGHTS, deadline=None)
@given(data=st.data())
def test_two_logs_say_the_same_whoever_takes_in_whom(data: st.DataObject) -> None:
    bare, first = first_batch(data)
    with units_of_a_film(2) as (main, second):
        written(lambda *_: first)(main)
        take_in(second, main)
        apart = st.tuples(st.sampled_from((main, second)), steps(bare))
        for folder, step in data.draw(st.lists(apart, min_size=2, max_size=8)):
            step(folder)
        before = {**lines_of(second), **lines_of(main)}
        others = [
            Path(shutil.copytree(each, each.with_name(f"{each.name}-2"))) for each in (main, second)
        ]
        take_in(main, others[1])
        take_in(second, others[0])
        assert figures_of(main) == figures_of(second)
        assert lines_of(main) == lines_of(second) == before
        for folder, other in zip((main, second), others[::-1], strict=True):
            position = position_of(folder)
            again = merge_logs(folder, other)
            assert (again.is_new, again.questions) == (False, ())
            assert position_of(folder) == position
            assert verify(folder) == ()
        assert_kept_is_computed(main, Depth.FIGURES, data.draw(plans))


@settings(max_examples=NIGHTS, deadline=None)
@given(data=st.data())
def test_units_that_are_joined_every_night_come_to_the_same(data: st.DataObject) -> None:
    """Whoever takes in whom, in whatever order, on whichever nights; some nights nobody does."""
    bare, first = first_batch(data)
    with units_of_a_film(data.draw(st.sampled_from((2, 2, 3)))) as units:
        written(lambda *_: first)(units[0])
        for each in units[1:]:
            take_in(each, units[0])
        pairs = list(permutations(units, 2))
        days = st.tuples(
            st.lists(st.tuples(st.sampled_from(units), steps(bare)), max_size=4),
            st.lists(st.sampled_from(pairs), max_size=3),
        )
        for done, night in data.draw(st.lists(days, min_size=2, max_size=4)):
            for folder, step in done:
                step(folder)
            for ours, theirs in night:
                take_in(ours, theirs)
        for each in units[1:]:
            take_in(units[0], each)
        for each in units[1:]:
            take_in(each, units[0])
        assert_all_say_the_same(units)


@settings(max_examples=NIGHTS // 2, deadline=None)
@given(data=st.data())
def test_what_two_units_call_otherwise_is_one_after_every_night(data: st.DataObject) -> None:
    """As above, where all that is done is to write rows that the other may have, too.

    Some nights both take each other in at once.
    """
    bare, first = first_batch(data)
    with units_of_a_film(2) as units:
        written(lambda *_: first)(units[0])
        take_in(units[1], units[0])
        rows = st.lists(rows_spelled_otherwise(bare), min_size=1, max_size=3)
        for night in range(data.draw(st.integers(1, 2))):
            for folder in units:
                for step in data.draw(rows):
                    step(folder)
            ours, theirs = data.draw(st.permutations(units))
            before = shutil.copytree(ours, ours.with_name(f"before-{night}"))
            take_in(ours, theirs)
            take_in(theirs, data.draw(st.sampled_from((ours, before))))
        take_in(*units)
        take_in(*units[::-1])
        assert_all_say_the_same(units)


def assert_all_say_the_same(units: list[Path]) -> None:
    """Nobody has anything that another has not, and everything computed is the same."""
    for ours, theirs in permutations(units, 2):
        again = merge_logs(ours, theirs)
        assert (again.is_new, again.questions) == (False, ())
    for each in units:
        assert verify(each) == ()
        assert figures_of(each) == figures_of(units[0])
        assert lines_of(each) == lines_of(units[0])
