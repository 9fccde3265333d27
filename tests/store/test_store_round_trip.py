"""What is written is read, as it was written."""

from __future__ import annotations

import shutil
import subprocess
import sys
import tempfile
from datetime import UTC, date, datetime, timedelta
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from credits.model.facts import (
    BUILT_IN_CRAFTS,
    Character,
    Craft,
    CreditWish,
    Decision,
    Engagement,
    EntryNumber,
    Fitting,
    Kind,
    Part,
    Person,
    Production,
    Puppet,
    Purpose,
    Replacement,
    Sequence,
    Shot,
    ShotStatus,
    Stage,
    Take,
    Work,
)
from credits.model.ledger import Ledger
from credits.model.log import Batch, NewLine, TableCount, Verb, WrittenLog
from credits.model.replay import replay
from credits.store.log import open_log
from credits.store.production import create_production
from credits.text import fold_code
from credits.units.frames import Frames
from tests.drawn import drawn

EVERYTHING = Batch(
    crafts=(
        Craft(
            code="wax",
            name="Wax work",
            department="Puppets",
            kind=Kind.BUILD,
            footage=False,
            heading="Wax",
        ),
    ),
    people=(
        Person(
            code="ana",
            credit_name="Ana",
            sort_name="Ana",
            legal_name="Ana Legal",
            email="ana@example.org",
            isni="0000000122819",
            wish=CreditWish.UNCREDITED,
            name_confirmed_on=date(2026, 3, 1),
            same_as="ben",
            note="a *note*",
        ),
        Person(code="ben", credit_name="بن"),
    ),
    engagements=(
        Engagement(
            person="ana",
            department="Animation",
            job_title="Animator",
            starts_on=date(2025, 1, 1),
            ends_on=date(2026, 1, 1),
            guaranteed_heading="Leads",
            billing_number=3,
        ),
        Engagement(person="ana", department="Animation", job_title="Animator"),
    ),
    characters=(
        Character(code="wick", name="Wick", silent=True, note="n"),
        Character(code="brine", name="Brine"),
    ),
    puppets=(
        Puppet(
            code="wick-1",
            character="wick",
            copy="1",
            scale="1:1",
            ready_on=date(2025, 1, 1),
            retired_on=date(2027, 1, 1),
            note="n",
        ),
        Puppet(code="wick-2", character="wick"),
    ),
    parts=(
        Part(code="smile", kind="face", character="wick", note="n"),
        Part(code="rig", kind="armature"),
    ),
    fittings=(
        Fitting(part="rig", puppet="wick-1", from_on=date(2025, 1, 1), to_on=date(2025, 2, 1)),
        Fitting(part="rig", puppet="wick-1", from_on=date(2025, 3, 1)),
    ),
    sequences=(Sequence("010", "Harbour"), Sequence("020")),
    shots=(
        Shot(code="010-020", sequence="010", length=48, status=ShotStatus.DONE, description="d"),
        Shot(code="020-010", sequence="020", length=1),
    ),
    stages=(Stage("stage-1", "Unit A"), Stage("stage-2")),
    takes=(
        Take(
            shot="010-020",
            number=1,
            purpose=Purpose.BLOCK,
            decision=Decision.RETAKE,
            decided_on=date(2026, 3, 2),
        ),
        Take(shot="010-020", number=2),
    ),
    replacements=(
        Replacement(
            shot="010-020",
            take=2,
            character="wick",
            part="smile",
            frames=Frames.parse("1-4,9,12-48"),
        ),
        Replacement(
            shot="010-020", take=None, character="wick", part="smile", frames=Frames.span(5, 8)
        ),
    ),
    lines=(
        NewLine(
            verb=Verb.RECORD,
            work=Work(
                craft="animation",
                person="ana",
                character="wick",
                puppet="wick-1",
                part="smile",
                sequence="010",
                shot="010-020",
                take=2,
                frames=Frames.parse("1-20,25-48"),
                poses_on=2,
                share=Fraction(1, 2),
                started_on=date(2026, 3, 1),
                finished_on=date(2026, 3, 2),
                minutes=480,
                wait_minutes=0,
                stage="stage-1",
                note="a note",
                private=True,
            ),
            corrects=None,
            logged_by="office",
            why="why",
            ref="row-1",
            source="entries.csv row 2",
        ),
        NewLine(verb=Verb.RECORD, work=Work(craft="voice", person="ben", character="wick")),
    ),
)


def write(folder: Path, *batches: Batch) -> WrittenLog:
    with open_log(folder) as log:
        for batch in batches:
            with log.writing() as pen:
                pen.write(batch)
        return log.read()


def test_every_field_of_every_table_comes_back(empty: Path) -> None:
    log = write(empty, EVERYTHING)
    assert log.crafts == (*BUILT_IN_CRAFTS, *EVERYTHING.crafts)
    for name in (
        "people", "engagements", "characters", "puppets", "parts", "fittings", "sequences",
        "shots", "stages", "takes", "replacements",
    ):  # fmt: skip
        assert getattr(log, name) == getattr(EVERYTHING, name)
    for written, line in zip(log.lines, EVERYTHING.lines, strict=True):
        assert written.work == line.work
        for name in ("verb", "corrects", "logged_by", "why", "ref", "source"):
            assert getattr(written, name) == getattr(line, name)


def test_the_same_tables_again_change_nothing_and_the_receipt_says_so(film: Path) -> None:
    tables = Batch(
        people=(
            Person(code="ana", credit_name="Ana"),
            Person(code="ben", credit_name="Ben", note="new"),
            Person(code="c", credit_name="C"),
        )
    )
    with open_log(film) as log:
        with log.writing() as pen:
            first = pen.write(tables).counts
        with log.writing() as pen:
            second = pen.write(tables).counts
    assert first == {"people": TableCount(new=1, changed=1, same=1)}
    assert second == {"people": TableCount(same=3)}


def test_a_changed_row_keeps_its_place_and_the_first_spelling_of_its_code(film: Path) -> None:
    log = write(
        film,
        Batch(
            people=(
                Person(code="ANA", credit_name="Ana Maria"),
                Person(code="cai", credit_name="Cai"),
            )
        ),
    )
    assert [(p.code, p.credit_name) for p in log.people] == [
        ("ana", "Ana Maria"),
        ("ben", "Ben"),
        ("cai", "Cai"),
    ]


@pytest.mark.parametrize(
    ("one", "other"),
    [("Ана", "аНА"), ("STRASSE", "straße"), ("Zoë", "zoe\u0308"), ("ΜΆΗΣ", "μάης")],
)
def test_codes_are_one_without_regard_to_case_in_any_script(
    empty: Path, one: str, other: str
) -> None:
    log = write(
        empty,
        Batch(people=(Person(code=one, credit_name="1"),)),
        Batch(people=(Person(code=other, credit_name="2"),)),
    )
    assert [(p.code, p.credit_name) for p in log.people] == [(one, "2")]


def test_a_row_that_is_twice_in_a_batch_counts_as_it_stands_last(empty: Path) -> None:
    log = write(
        empty,
        Batch(
            people=(Person(code="ana", credit_name="Ana"), Person(code="Ana", credit_name="Ana M."))
        ),
    )
    assert [(p.code, p.credit_name) for p in log.people] == [("Ana", "Ana M.")]


def test_a_person_may_be_the_same_as_one_who_stands_further_down(empty: Path) -> None:
    people = (
        Person(code="ana", credit_name="Ana", same_as="ann"),
        Person(code="ann", credit_name="Ann"),
    )
    assert write(empty, Batch(people=people)).people == people


def test_lines_are_numbered_in_the_order_of_the_batches(film: Path) -> None:
    record = NewLine(verb=Verb.RECORD, work=Work(craft="voice", person="ana", character="wick"))
    with open_log(film) as log, log.writing() as pen:
        first = pen.write(Batch(lines=(record, record))).numbers
        second = pen.write(Batch(lines=(record,))).numbers
        assert [str(line.number) for line in pen.read().lines] == ["A-1", "A-2", "A-3"]
    assert [str(number) for number in first + second] == ["A-1", "A-2", "A-3"]


def test_amendments_and_voids_name_their_line(film: Path) -> None:
    log = write(
        film,
        Batch(
            lines=(
                NewLine(verb=Verb.RECORD, work=Work(craft="voice", person="ana", character="wick")),
            )
        ),
        Batch(
            lines=(
                NewLine(
                    verb=Verb.AMEND,
                    work=Work(craft="voice", person="ben", character="wick"),
                    corrects=EntryNumber("A", 1),
                ),
            )
        ),
        Batch(
            lines=(
                NewLine(verb=Verb.VOID, work=None, corrects=EntryNumber("A", 2), why="never done"),
            )
        ),
    )
    assert [(line.verb, line.corrects and str(line.corrects)) for line in log.lines] == [
        (Verb.RECORD, None),
        (Verb.AMEND, "A-1"),
        (Verb.VOID, "A-2"),
    ]
    assert log.lines[2].work is None
    assert log.lines[2].why == "never done"


def test_the_moment_of_logging_is_kept_in_utc_to_the_microsecond(film: Path) -> None:
    moment = datetime.fromisoformat("2026-03-02T18:30:00.123456+05:30")
    with open_log(film, clock=lambda: moment) as log:
        with log.writing() as pen:
            pen.write(
                Batch(
                    lines=(
                        NewLine(
                            verb=Verb.RECORD,
                            work=Work(craft="voice", person="ana", character="wick"),
                        ),
                    )
                )
            )
        (line,) = log.read().lines
    assert line.logged_at == moment
    assert line.logged_at.tzinfo is UTC


def test_a_block_that_fails_writes_nothing_and_its_numbers_are_given_again(film: Path) -> None:
    record = Batch(
        lines=(NewLine(verb=Verb.RECORD, work=Work(craft="voice", person="ana", character="wick")),)
    )
    with open_log(film) as log:
        with pytest.raises(ZeroDivisionError), log.writing() as pen:
            int(pen.write(record).numbers[0].number / 0)
        assert log.read().lines == ()
        with log.writing() as pen:
            assert pen.write(record).numbers == (EntryNumber("A", 1),)


def test_a_pen_cannot_be_used_after_its_block(film: Path) -> None:
    with open_log(film) as log:
        with log.writing() as pen:
            pass
        with pytest.raises(RuntimeError, match="outside the block"):
            pen.write(Batch(people=(Person(code="cai", credit_name="Cai"),)))
        assert len(log.read().people) == 2


def test_a_reader_sees_one_state_while_another_writes(film: Path) -> None:
    with open_log(film) as reader, open_log(film) as writer, writer.writing() as pen:
        pen.write(Batch(people=(Person(code="cai", credit_name="Cai"),)))
        assert len(reader.read().people) == 2
        assert len(pen.read().people) == 3


def test_two_programs_that_write_at_once_share_the_numbers(film: Path) -> None:
    write_ten = (
        "import sys\n"
        "from pathlib import Path\n"
        "from credits.model.log import Batch, NewLine\n"
        "from credits.model.facts import Work\n"
        "from credits.model.log import Verb\n"
        "from credits.store.log import open_log\n"
        "work = Work(craft='voice', person='ana', character='wick')\n"
        "record = NewLine(verb=Verb.RECORD, work=work)\n"
        "with open_log(Path(sys.argv[1]), busy_milliseconds=60_000) as log:\n"
        "    for _ in range(10):\n"
        "        with log.writing() as pen:\n"
        "            pen.write(Batch(lines=(record, record)))\n"
    )
    command = [sys.executable, "-c", write_ten, str(film)]
    programs = [subprocess.Popen(command) for _ in range(2)]
    assert [program.wait() for program in programs] == [0, 0]
    with open_log(film) as log:
        assert [line.number.number for line in log.read().lines] == list(range(1, 41))


@pytest.mark.parametrize("name", ["a?b#c", "50%20 & more", "фильм 🕯️", "with 'quotes'", "a" * 200])
def test_a_production_may_lie_in_a_folder_of_any_name(tmp_path: Path, name: str) -> None:
    folder = create_production(tmp_path / name, "Film")
    log = write(folder, Batch(people=(Person(code="ana", credit_name="Ana"),)))
    assert log.people == (Person(code="ana", credit_name="Ana"),)


def test_a_face_sheet_that_is_cleared_and_written_keeps_what_is_the_same(empty: Path) -> None:
    def faces(*rows: Replacement) -> Batch:
        return Batch(cleared_face_sheets=(("010-020", 2),), replacements=rows)

    smile, frown = (
        Replacement(shot="010-020", take=2, character="wick", part=part, frames=Frames.span(1, 4))
        for part in ("smile", "rig")
    )
    every_take = EVERYTHING.replacements[1]
    with open_log(empty) as log:
        with log.writing() as pen:
            pen.write(EVERYTHING)
            first = pen.write(faces(smile, frown)).counts
            again = pen.write(faces(smile, frown)).counts
            last = pen.write(faces(frown)).counts
        assert log.read().replacements == (every_take, frown)
    assert first == {"replacements": TableCount(new=1, changed=1)}
    assert again == {"replacements": TableCount(same=2)}
    assert last == {"replacements": TableCount(changed=1, same=1)}


def test_five_thousand_lines_come_back_in_their_order(film: Path) -> None:
    lines = tuple(
        NewLine(
            verb=Verb.RECORD,
            work=Work(
                craft="animation",
                person="ana" if at % 2 else "ben",
                character="wick",
                shot="010-020",
                frames=Frames.span(1 + at % 40, 48),
                started_on=date(2026, 1, 1) + timedelta(days=at % 300),
                minutes=at,
            ),
            ref=str(at),
        )
        for at in range(5000)
    )
    log = write(film, Batch(lines=lines))
    assert [line.work for line in log.lines] == [line.work for line in lines]
    assert [line.number.number for line in log.lines] == list(range(1, 5001))
    ledger = replay(log)
    assert isinstance(ledger, Ledger)
    assert isinstance(ledger.production, Production)
    assert len(ledger.entries_by_person["ana"]) == 2500


# --- invariants

texts = st.text(
    st.characters(codec="utf-8", exclude_characters="\x00"), min_size=1, max_size=200
).filter(lambda text: text.strip(" ") != "")
days = st.none() | st.dates()


@st.composite
def batches(draw: st.DrawFn) -> Batch:
    codes = draw(st.lists(texts, min_size=1, max_size=4, unique_by=fold_code))
    optional = st.none() | texts
    people = tuple(
        Person(
            code=code,
            credit_name=draw(texts),
            sort_name=draw(optional),
            wish=draw(st.sampled_from(CreditWish)),
            name_confirmed_on=draw(days),
            same_as=draw(st.none() | st.sampled_from([c for c in codes if c != code] or [None])),
            note=draw(optional),
        )
        for code in codes
    )
    frames = st.lists(
        st.tuples(st.integers(1, 200), st.integers(0, 50)), min_size=1, max_size=4
    ).map(lambda runs: Frames.of(*((first, first + more + 1) for first, more in runs)))
    works = st.builds(
        Work,
        craft=st.sampled_from([craft.code for craft in BUILT_IN_CRAFTS]),
        person=st.sampled_from(codes),
        character=st.just("wick"),
        shot=st.just("010-020"),
        take=st.none() | st.integers(1, 99),
        frames=st.none() | frames,
        poses_on=st.none() | st.integers(1, 4),
        share=st.none() | st.fractions(Fraction(1, 100), 100),
        finished_on=days,
        minutes=st.none() | st.integers(0, 2000),
        note=optional,
        private=st.booleans(),
    )
    lines = st.builds(
        NewLine,
        verb=st.just(Verb.RECORD),
        work=works,
        ref=optional,
        source=optional,
        logged_by=optional,
    )
    return Batch(
        people=people,
        characters=(Character(code="wick", name="Wick"),),
        sequences=(Sequence("010"),),
        shots=(Shot(code="010-020", sequence="010", length=250),),
        lines=tuple(draw(st.lists(lines, max_size=6))),
    )


@settings(max_examples=drawn(40), deadline=None)
@given(batches())
def test_any_batch_is_read_as_it_was_written_and_its_tables_once(
    first_empty: Path, batch: Batch
) -> None:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(shutil.copytree(first_empty, Path(name, "film")))
        once = write(folder, batch)
        assert once.people == batch.people
        assert [line.work for line in once.lines] == [line.work for line in batch.lines]
        assert [line.ref for line in once.lines] == [line.ref for line in batch.lines]
        twice = write(folder, batch)
        assert twice.people == once.people
        assert twice.lines[: len(once.lines)] == once.lines
        assert [line.number.number for line in twice.lines] == list(
            range(1, 2 * len(batch.lines) + 1)
        )
