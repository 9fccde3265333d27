"""What the log held when a proof was made: lists walked back by their history, lines since."""

from __future__ import annotations

import tempfile
from contextlib import suppress
from datetime import date
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from credits.errors import ProblemsFound
from credits.model.facts import CreditWish, Engagement, Person, Work
from credits.model.log import REFERENCE_TABLES, Batch, NewLine, NewProof, RowCorrection, Verb
from credits.store.log import open_log
from credits.store.production import create_production
from credits.store.seals.rewind import lines_since, lists_then
from tests.drawn import drawn

PROOF = Batch(proof=NewProof(content="{}", plan="built-in plan", lines=0, people=0))
ANA = Person(code="ana", credit_name="Ana")
JOB = Engagement(person="ana", department="Art", job_title="Painter")
codes = st.sampled_from(["ana", "ben", "cai"])
people = st.builds(
    lambda code, name, wish, day: Batch(
        people=(Person(code=code, credit_name=name, wish=wish, name_confirmed_on=day),)
    ),
    codes,
    st.sampled_from(["Ana", "Ben", "עדן"]),
    st.sampled_from(CreditWish),
    st.sampled_from([None, date(2026, 3, 2)]),
)
jobs = st.builds(
    lambda heading, number: Batch(
        engagements=(
            Engagement(
                person="ana",
                department="Art",
                job_title="Painter",
                guaranteed_heading=heading,
                billing_number=number,
            ),
        )
    ),
    st.sampled_from([None, "With"]),
    st.sampled_from([None, 2]),
)
corrections = st.sampled_from(
    [
        Batch(corrections=(RowCorrection(table="engagements", row=JOB, why="Twice."),)),
        Batch(
            corrections=(
                RowCorrection(
                    table="engagements",
                    row=JOB,
                    instead=Engagement(person="ana", department="Art", job_title="Lead"),
                    why="Named wrongly.",
                ),
            )
        ),
    ]
)
lines = st.just(Batch(lines=(NewLine(verb=Verb.RECORD, work=Work(craft="voice", person="ana")),)))
steps = st.one_of(people, jobs, corrections, lines)


@settings(max_examples=drawn(80), deadline=None)
@given(before=st.lists(steps, max_size=5), after=st.lists(steps, max_size=6))
def test_lists_walked_back_are_those_that_were_there(
    before: list[Batch], after: list[Batch]
) -> None:
    with tempfile.TemporaryDirectory() as name:
        folder = create_production(Path(name) / "film", "The Snail")
        with open_log(folder) as log:

            def write(step: Batch) -> None:
                # A correction of a row that is gone, or to one that is there, is refused.
                with suppress(ProblemsFound), log.writing() as pen:
                    pen.write(step)

            write(Batch(people=(ANA,), engagements=(JOB,)))
            for step in before:
                write(step)
            write(PROOF)
            then = log.read()
            for step in after:
                write(step)
            (mark,) = log.proofs()
            now = log.read()
            lists = lists_then(log, {name: getattr(now, name) for name in REFERENCE_TABLES}, mark)
            for table in REFERENCE_TABLES:
                found, expected = lists[table], getattr(then, table)
                assert sorted(found, key=repr) == sorted(expected, key=repr)
            assert lists["people"] == then.people
            assert lines_since(log, mark) == now.lines[len(then.lines) :]
