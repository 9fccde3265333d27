"""A row of a list is corrected where it is, so that what names it and its order stay."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from credits.errors import ProblemsFound
from credits.model.facts import Engagement, Part, Person, Work
from credits.model.log import Batch, NewLine, RowCorrection, Verb
from credits.store.log import open_log
from credits.store.seals.verify import verify
from tests.drawn import drawn

FIRST = Engagement(person="ana", department="Animation", job_title="Animater")
RIGHT = Engagement(person="ana", department="Animation", job_title="Animator")
LAST = Engagement(person="ana", department="Puppets", job_title="Painter")


def _write(folder: Path, *batches: Batch) -> None:
    with open_log(folder) as log:
        for batch in batches:
            with log.writing() as writer:
                writer.write(batch)


def test_a_corrected_row_stays_in_its_place_with_one_history(film: Path) -> None:
    correction = RowCorrection(table="engagements", row=FIRST, instead=RIGHT, why="Spelling.")
    _write(film, Batch(engagements=(FIRST, LAST)), Batch(corrections=(correction,)))
    with open_log(film) as log:
        assert log.read().engagements == (RIGHT, LAST)
        last = log.history("engagements", "ana")[-1]
    assert (last.verb, last.columns) == ("update", {"job_title": ("Animater", "Animator")})
    assert verify(film) == ()


def test_a_row_that_entries_name_is_corrected_in_what_is_no_code(film: Path) -> None:
    work = Work(craft="animation", person="ana", character="wick", shot="010-020")
    with open_log(film) as log:
        ana = next(person for person in log.read().people if person.code == "ana")
    new = Person(code="ana", credit_name="Ana María", name_confirmed_on=date(2026, 3, 2))
    correction = RowCorrection(table="people", row=ana, instead=new, why="She says so.")
    _write(
        film,
        Batch(lines=(NewLine(verb=Verb.RECORD, work=work),)),
        Batch(corrections=(correction,)),
    )
    with open_log(film) as log:
        assert [person for person in log.read().people if person.code == "ana"] == [new]
        assert log.list_corrections()[0].instead == "ana"


def test_another_code_ends_the_history_of_the_first(film: Path) -> None:
    wig, other, new = (Part(code=code, kind="wig") for code in ("wig", "wig-9", "wig-1"))
    correction = RowCorrection(table="parts", row=wig, instead=new, why="Two wigs.")
    _write(film, Batch(parts=(wig, other)), Batch(corrections=(correction,)))
    with open_log(film) as log:
        assert [part for part in log.read().parts if part.kind == "wig"] == [new, other]
        assert [change.verb for change in log.history("parts", "wig")] == ["insert", "delete"]
        assert [change.verb for change in log.history("parts", "wig-1")] == ["insert"]


def test_a_person_whom_another_code_stands_for_is_not_voided(film: Path) -> None:
    zed = Person(code="zed", credit_name="Zed")
    also = Person(code="zed-2", credit_name="Zed", same_as="zed")
    void = RowCorrection(table="people", row=zed, why="Nobody.")
    _write(film, Batch(people=(zed, also)))
    with pytest.raises(ProblemsFound, match="is the same as nobody"):
        _write(film, Batch(corrections=(void,)))
    assert verify(film) == ()


JOBS = st.builds(
    Engagement,
    person=st.sampled_from(["ana", "ben"]),
    department=st.sampled_from(["Animation", "Puppets"]),
    job_title=st.sampled_from(["Animator", "Painter", "=cmd()", "נועם"]),
    starts_on=st.none() | st.sampled_from([date(2026, 1, 1), date(2026, 2, 1)]),
    billing_number=st.none() | st.integers(1, 9),
)


def _of(job: Engagement) -> str:
    return str((job.person, job.department, job.job_title, job.starts_on))


@settings(max_examples=drawn(15), suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(JOBS, min_size=1, max_size=5, unique_by=_of), st.data())
def test_rows_voided_and_added_again_are_the_rows_that_were_there(
    film: Path, jobs: list[Engagement], data: st.DataObject
) -> None:
    chosen = data.draw(st.lists(st.sampled_from(jobs), unique_by=_of))
    voids = tuple(RowCorrection(table="engagements", row=job, why="x") for job in chosen)
    every = tuple(RowCorrection(table="engagements", row=job, why="x") for job in jobs)
    _write(film, Batch(engagements=tuple(jobs)), Batch(corrections=voids))
    with open_log(film) as log:
        assert set(log.read().engagements) == set(jobs) - set(chosen)
    _write(film, Batch(engagements=tuple(chosen)))
    with open_log(film) as log:
        assert set(log.read().engagements) == set(jobs)
    _write(film, Batch(corrections=every))
    with open_log(film) as log:
        assert log.read().engagements == ()
