"""Laws of a typed line: it says what a row of a sheet with the same cells says."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from random import Random

from hypothesis import assume, given, settings
from hypothesis import strategies as st

from credits.app.work.entries import cells_of, cells_said
from credits.app.work.line import COLUMN_WORDS, AmbiguousWordError, LineReader, Word, split_words
from credits.app.work.rows import read_row
from credits.errors import CreditsError
from credits.model.facts import Work
from credits.model.log import WrittenLog
from tests.drawn import drawn
from tests.laws.strategies import productions, works

LAW = settings(max_examples=drawn(60), deadline=None)
TODAY = date(2026, 3, 5)
PLAIN = ("craft", "person", "character", "puppet", "part", "sequence", "stage")
"""The columns whose words stand without the name of the column."""
NOTES = st.none() | st.text(
    st.characters(codec="utf-8", exclude_categories=("Cc", "Cs", "Zl", "Zp")), max_size=30
).map(lambda text: " ".join(text.split()).replace('"', "") or None)


@st.composite
def said_works(draw: st.DrawFn, log: WrittenLog) -> Work:
    """A piece of work with everything that an entry can say, and a row can hold."""
    note = draw(NOTES)
    work = replace(
        draw(works(log)),
        poses_on=draw(st.none() | st.integers(1, 12)),
        minutes=draw(st.none() | st.integers(0, 900)),
        wait_minutes=draw(st.none() | st.integers(0, 90)),
        note=note,
        private=draw(st.booleans()),
    )
    row = read_row(cells_of(work), log, TODAY)
    assume(row.line is not None and row.line.work is not None)
    assert row.line is not None
    assert row.line.work is not None
    return row.line.work


def groups_of(work: Work) -> list[list[str]]:
    """The words of a line that says the work, those that belong together as one group."""
    cells = cells_of(work)
    take = cells.pop("take", None)
    groups = [[cells.pop(column)] for column in PLAIN if column in cells]
    if "shot" in cells:
        groups.append([cells.pop("shot") + (f"/{take}" if take else "")])
    if "frames" in cells:
        groups.append([cells.pop("frames")])
    if "minutes" in cells:
        groups.append([f"{cells.pop('minutes')}m"])
    if "poses_on" in cells:
        groups.append([f"x{cells.pop('poses_on')}"])
    if cells.pop("private", None):
        groups.append(["private"])
    if "wait_minutes" in cells:
        groups.append(["wait", f"{cells.pop('wait_minutes')} min"])
    cells.pop("note", None)
    for column in ("share", "started_on", "finished_on"):
        if column in cells:
            word = next(word for word, of in COLUMN_WORDS.items() if of == column)
            groups.append([word, cells.pop(column)])
    assert not cells
    return groups


def reading(reader: LineReader, words: list[Word], work: Work) -> dict[str, str]:
    """What the words say; where one means several things, the way is taken that the work means."""
    cells = cells_of(work)
    while True:
        try:
            return reader.read(words, is_shot_known=True)
        except AmbiguousWordError as asked:
            way = next(way for way in asked.ways if cells.get(way[0]) == way[1])
            words = asked.meant(words, way)


@LAW
@given(st.data())
def test_a_line_of_a_session_says_what_the_row_of_a_sheet_says(data: st.DataObject) -> None:
    log = data.draw(productions())
    work = data.draw(said_works(log))
    groups = groups_of(work)
    Random(data.draw(st.integers(0, 99))).shuffle(groups)
    line = " ".join(word for group in groups for word in group)
    if work.note is not None:
        line += f' "{work.note}"' if data.draw(st.booleans()) else f" -- {work.note}"
    row = read_row(reading(LineReader(log, TODAY), split_words(line), work), log, TODAY)
    assert row.findings == ()
    assert row.line is not None
    assert row.line.work == work


@LAW
@given(st.data())
def test_the_words_of_a_command_say_what_the_row_of_a_sheet_says(data: st.DataObject) -> None:
    log = data.draw(productions())
    work = data.draw(said_works(log))
    cells = cells_of(work)
    first, others = [cells.pop("craft"), cells.pop("person")], []
    for column in ("character", "puppet", "part", "sequence"):
        if column in cells:
            others.append(cells.pop(column))
    if "shot" in cells:
        take = cells.pop("take", None)
        others.append(cells.pop("shot") + (f"/{take}" if take else ""))
    if "frames" in cells and data.draw(st.booleans()):
        others.append(cells.pop("frames"))
    row = read_row(cells_said([*first, *others], cells, None, log, "A"), log, TODAY)
    assert row.findings == ()
    assert row.line is not None
    assert row.line.work == work


@LAW
@given(st.data(), st.text(max_size=60))
def test_no_line_makes_the_reader_fail(data: st.DataObject, text: str) -> None:
    log = data.draw(productions())
    words = data.draw(st.lists(st.sampled_from(sorted(COLUMN_WORDS)), max_size=3))
    try:
        read = LineReader(log, TODAY).read(split_words(" ".join([*words, text])))
    except CreditsError:
        return
    assert set(read) <= {*COLUMN_WORDS.values(), "poses_on"}
