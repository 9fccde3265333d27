"""The law of causes, on rounds of work that nobody chose: undoing exactly what is named undoes the
change. What is undone is left out of a log that is replayed and compiled as a whole."""

from __future__ import annotations

import tempfile
from collections import Counter
from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from credits.app.end_credits.causes import Since, causes_of
from credits.app.end_credits.credits import read_credits, save_proof
from credits.app.production import bare_snapshot
from credits.billing.compared.changes import CreditChange, changes_told
from credits.billing.compared.compare import Comparison, Compiled, compare
from credits.billing.compared.edits import EditOf, edits_between
from credits.billing.credits import Credits
from credits.figures.keep import open_figures
from credits.figures.renewal import Depth
from credits.figures.snapshot import Snapshot
from credits.model.facts import (
    Character,
    CreditWish,
    Cut,
    CutClip,
    Engagement,
    EntryNumber,
    NewConfirmation,
    Person,
    Sequence,
    Shot,
    Work,
)
from credits.model.log import Batch, NewLine, Verb
from credits.model.replay import replay
from credits.store.log import open_log
from credits.store.production import create_production
from credits.text import fold_words
from tests.drawn import drawn
from tests.laws.test_varied_laws import without

BEGIN = Batch(
    people=tuple(Person(code=c, credit_name=c.capitalize()) for c in ("ana", "anna", "ben", "cai")),
    characters=tuple(Character(code=c, name=c.capitalize()) for c in ("wick", "brine")),
    sequences=(Sequence("010"),),
    shots=tuple(Shot(code=c, sequence="010", length=48) for c in ("010-010", "010-020")),
    lines=tuple(
        NewLine(verb=Verb.RECORD, work=work)
        for work in (
            Work(craft="animation", person="ana", character="wick", shot="010-010"),
            Work(craft="animation", person="ben", character="brine", shot="010-020"),
            Work(craft="voice", person="anna", character="wick"),
            Work(craft="paint", person="ben", character="wick"),
        )
    ),
)
people = st.sampled_from(["ana", "anna", "ben", "cai"])
characters = st.sampled_from(["wick", "brine"])


def record(work: Work) -> Batch:
    return Batch(lines=(NewLine(verb=Verb.RECORD, work=work),))


def animated(person: str, character: str, shot: str) -> Batch:
    return record(Work(craft="animation", person=person, character=character, shot=shot))


def correction(verb: Verb, number: int, person: str) -> Batch:
    work = None if verb is Verb.VOID else Work(craft="paint", person=person, character="wick")
    line = NewLine(verb=verb, work=work, corrects=EntryNumber("A", number))
    return Batch(lines=(line,))


def a_cut(first: int) -> Batch:
    clip = CutClip(
        order=1,
        film_first=1,
        shown=20,
        shot="010-010",
        take=None,
        source_first=first,
        source_last=first + 19,
    )
    return Batch(cut=Cut(version=0, source="reel.edl", length=20, clips=(clip,)))


builds = st.builds(
    lambda craft, person, character: record(Work(craft=craft, person=person, character=character)),
    st.sampled_from(["voice", "paint", "sculpt"]),
    people,
    characters,
)
names = st.builds(
    lambda person, name, wish, same, day: Batch(
        people=(
            Person(
                code=person,
                credit_name=name,
                wish=wish,
                same_as=None if same == person else same,
                name_confirmed_on=day,
            ),
        )
    ),
    people,
    st.sampled_from(["Ana", "Ana Quist", "Ben", "Cai Bo"]),
    st.sampled_from([CreditWish.CREDITED] * 3 + [CreditWish.UNCREDITED]),
    st.sampled_from([None, None, None, "ana"]),
    st.sampled_from([None, None, date(2026, 3, 4)]),
)
jobs = st.builds(
    lambda person, heading: Batch(
        engagements=(
            Engagement(
                person=person,
                department="Art",
                job_title="Painter",
                guaranteed_heading=heading,
            ),
        )
    ),
    people,
    st.sampled_from([None, "With"]),
)
confirmations = st.builds(
    lambda person, name: Batch(confirmations=(NewConfirmation(person=person, name=name),)),
    people,
    st.sampled_from(["Ana", "Ben", "Cai"]),
)
newcomers = st.just(
    Batch(
        people=(Person(code="eve", credit_name="Eve"),),
        lines=(NewLine(verb=Verb.RECORD, work=Work(craft="paint", person="eve")),),
    )
)
PLANS = (
    '[[section]]\nheading = "Animators"\ncrafts = ["animation"]\norder = "footage"\n'
    '[[section]]\nheading = "Builders"\ncrafts = ["paint", "sculpt"]\n',
    '[[section]]\nheading = "Leads"\ncrafts = ["animation"]\nat_least = "30 frames shot"\n'
    'below = "Animators"\n[[section]]\nheading = "Voices"\ncast = ["voice"]\n'
    '[[section]]\nheading = "Builders"\ncrafts = ["paint"]\nlayout = "card"\n',
    '[[section]]\nheading = "Builders"\ncrafts = ["sculpt"]\n'
    '[[section]]\nheading = "Animation"\ncrafts = ["animation"]\norder = "footage"\n'
    '[[section]]\nheading = "Thanks"\ntext = "To the mice."\n',
)
steps = st.one_of(
    builds,
    st.builds(animated, people, characters, st.sampled_from(["010-010", "010-020"])),
    st.builds(correction, st.sampled_from([Verb.AMEND, Verb.VOID]), st.integers(1, 8), people),
    names,
    jobs,
    confirmations,
    newcomers,
    st.builds(a_cut, st.sampled_from([1, 20])),
    st.sampled_from(PLANS),
)


def write(folder: Path, step: Batch | str) -> None:
    """Do a step; a correction of what is not there, or was voided, is refused and left."""
    if isinstance(step, str):
        (folder / "credit-plan.toml").write_text(step)
        return
    with open_log(folder) as log:
        lines = log.read().lines
        voided = {line.corrects for line in lines if line.verb is Verb.VOID}
        known = {line.number for line in lines if line.verb is not Verb.VOID} - voided
        if all(line.corrects is None or line.corrects in known for line in step.lines):
            with log.writing() as pen:
                pen.write(step)


def found_in(folder: Path, number: int, later: int | None) -> tuple[Comparison, Since]:
    """A proof against the credits as they stand, or against a later proof."""
    file = open_figures(folder, Depth.FOOTAGE)
    proof = file.proof(number)
    if later is None:
        snapshot = read_credits(folder).snapshot
        cut = snapshot.ledger.cut
        version = cut.version if cut is not None else None
        now = Compiled(credits=snapshot.credits, plan=snapshot.plan_text, cut=version)
        base = snapshot
    else:
        now, base = Compiled.frozen(file.proof(later)), bare_snapshot(file, Depth.FOOTAGE)
    one = base.ledger.one_person
    return compare(proof, now, one), Since(file, base, proof, now)


def compiled_without(folder: Path, since: Since, undone: frozenset[object]) -> Credits:
    """The credits of a log that never held what is undone, as a whole."""
    tables, plan = since.undone(undone)
    with open_log(folder) as log:
        lines = log.read().lines
    gone = {key[1] for key in undone if isinstance(key, tuple) and key[0] == "line"}
    log_then = without(replace(tables, lines=lines), frozenset(gone) | since.behind)
    return Snapshot(replay(log_then), plan).credits


def under(
    credits: Credits, change: CreditChange, one: Mapping[str, str], headings: set[str]
) -> Counter[str]:
    """The names under which the person of a change prints beneath some headings."""
    return Counter(
        line.name
        for section, line in credits.lines
        if one.get(line.person, line.person) == change.person
        and fold_words(section.heading) in headings
    )


def headings_of(change: CreditChange, comparison: Comparison) -> set[str]:
    """The heading of a change, and what it is or was called where it was renamed."""
    renamed = [
        {fold_words(edit.old), fold_words(edit.new)}
        for each in comparison.changes
        for edit in each.edits
        if edit.of is EditOf.SECTION and edit.field == "heading"
    ]
    own = {fold_words(change.heading)}
    return own.union(*(pair for pair in renamed if pair & own))


def check(folder: Path, number: int, later: int | None) -> None:
    comparison, since = found_in(folder, number, later)
    one, before = since.one_person, since.before
    for change, undone, is_sought in causes_of(comparison, since):
        assert undone or not is_sought, change.what
        if not undone:
            continue
        without_it = compiled_without(folder, since, undone)
        told = changes_told(edits_between(before, without_it, one), before, without_it, one)
        assert change.what not in {other.what for other in told}
        sides = (before, without_it, since.after)
        headings = headings_of(change, comparison)
        was, now, is_ = (under(side, change, one, headings) for side in sides)
        if change.kind == "came" and change.person:
            assert now.total() < is_.total()
        elif change.kind == "went" and change.person:
            assert now.total() >= was.total()
        elif change.kind == "respelled" and change.person:
            assert now[change.name] < is_[change.name] or not is_[change.name]


@settings(max_examples=drawn(60), deadline=None)
@given(data=st.data())
def test_undoing_what_is_named_undoes_the_change(data: st.DataObject) -> None:
    a_round(data)


def a_round(data: st.DataObject) -> None:
    """Work, a proof, more work, perhaps another proof: every cause is looked at."""
    with tempfile.TemporaryDirectory() as name:
        folder = create_production(Path(name) / "film", "The Snail")
        write(folder, BEGIN)
        for step in data.draw(st.lists(steps, max_size=6), "before"):
            write(folder, step)
        save_proof(folder)
        for step in data.draw(st.lists(steps, min_size=1, max_size=5), "between"):
            write(folder, step)
        later = None
        if data.draw(st.booleans(), "a second proof"):
            later = save_proof(folder)[0].same_as
            for step in data.draw(st.lists(steps, max_size=3), "after"):
                write(folder, step)
        if later != 1:
            check(folder, 1, later)
