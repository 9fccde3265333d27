"""The day as a session: what short lines mean, and what can be taken back. No terminal here."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest

from credits.app.work.entries import cells_of, log_entries
from credits.app.work.line import AmbiguousWordError, split_words
from credits.app.work.session import DaySession, in_words
from credits.errors import CreditsError, ProblemsFound, WrongCall
from credits.store.log import open_log
from tests.productions import production_from, written_tables

TUESDAY = date(2026, 3, 3)

TABLES = {
    "people": """
        person,credit_name
        ana,Ana Lind
        ben,Ben
        echo,Eva Moor
        ben1,Bo Moss
        ben2,Bo Moss
    """,
    "engagements": """
        person,department,job_title,starts_on
        ana,Animation,Animator,2026-01-01
        ben,Animation,Animator,2026-01-01
    """,
    "characters": """
        character,name
        wick,The Wick
        brine,Brine
        echo,Echo
    """,
    "puppets": """
        puppet,character
        wick-1,wick
        wick-2,wick
        brine-1,brine
    """,
    "sequences": """
        sequence
        010
    """,
    "shots": """
        shot,sequence,frames,status
        010-020,010,90,shooting
        010-030,010,48,shooting
        12,010,48,shooting
    """,
    "stages": """
        stage
        S1
        S2
    """,
    "entries": """
        craft,person,character,puppet,shot,take,frames,poses_on,finished_on,minutes,stage
        animation,ana,wick,wick-1,010-020,1,1-30,2,2026-03-02,480,S1
        animation,ana,brine,brine-1,010-020,1,1-30,1,2026-03-02,480,S1
        animation,ben,wick,wick-2,010-030,2,1-10,,2026-03-02,480,S2
    """,
}


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return production_from(tmp_path / "film", [written_tables(tmp_path / "tables", TABLES)])


@pytest.fixture
def session(folder: Path) -> Iterator[DaySession]:
    with open_log(folder) as log:
        yield DaySession(log, TUESDAY, "S1")


def said(session: DaySession, line: str) -> dict[str, str]:
    """The cells of the entry that a line writes."""
    (logged,) = session.log_line(split_words(line))
    assert logged.line is not None
    assert logged.line.work is not None
    return cells_of(logged.line.work)


def test_a_line_that_says_everything(session: DaySession) -> None:
    line = "ana 8h animation wick-1 010-020/1 31-45 x3 wait 20m share 1/2 by dov -- a *scarf*, it's"
    assert said(session, line) == {
        "craft": "animation", "person": "ana", "puppet": "wick-1", "shot": "010-020", "take": "1",
        "frames": "31-45", "poses_on": "3", "share": "1/2", "finished_on": "2026-03-03",
        "minutes": "480", "wait_minutes": "20", "stage": "S1", "note": "a *scarf*, it's",
    }  # fmt: skip


def test_what_is_not_said_is_as_the_person_was_on_the_day_before(session: DaySession) -> None:
    assert said(session, "ana wick 31-60 8h") == {
        "craft": "animation", "person": "ana", "character": "wick", "puppet": "wick-1",
        "shot": "010-020", "take": "1", "frames": "31-60", "poses_on": "2",
        "finished_on": "2026-03-03", "minutes": "480", "stage": "S1",
    }  # fmt: skip
    assert said(session, "ana brine 31-60 8h")["puppet"] == "brine-1"


def test_what_is_not_said_is_as_in_the_line_before_by_the_same_person(session: DaySession) -> None:
    said(session, "animation ana wick-2 010-030 1-12 4h -- a note")
    said(session, "animation ben brine 010-020 1-12")
    line = said(session, "ana 13-24")
    assert (line["puppet"], line["shot"], line["frames"]) == ("wick-2", "010-030", "13-24")
    assert not {"minutes", "note"} & line.keys()


def test_another_character_in_the_shot_is_in_the_frames_of_the_line_before(
    session: DaySession,
) -> None:
    assert said(session, "ana wick 31-60 8h")["frames"] == "31-60"
    assert said(session, "ana brine 4h")["frames"] == "31-60"
    assert "frames" not in said(session, "ana brine 5h")
    assert "frames" not in said(session, "ana wick 010-030 4h")
    assert "frames" not in said(session, "lip-sync ana brine 4h")


def test_another_craft_takes_nothing_over(session: DaySession) -> None:
    assert said(session, "repair ana wick-1 30m") == {
        "craft": "repair", "person": "ana", "puppet": "wick-1", "minutes": "30",
        "finished_on": "2026-03-03", "stage": "S1",
    }  # fmt: skip


def test_a_repair_is_in_no_shot_because_the_one_before_was(session: DaySession) -> None:
    assert said(session, "repair ben wick-1 010-020 20m")["shot"] == "010-020"
    assert "shot" not in said(session, "ben wick-2 30m")


def test_who_comes_to_a_stage_works_in_its_shot(session: DaySession) -> None:
    said(session, "ana wick 31-60")
    line = said(session, "animation ben brine-1 31-60")
    assert (line["shot"], line["take"]) == ("010-020", "1")
    assert "shot" not in said(session, "paint ben brine-1")


def test_without_a_stage_each_person_is_where_they_were(session: DaySession) -> None:
    session.be_at("none")
    assert said(session, "ana wick 31-60")["stage"] == "S1"
    line = said(session, "ben 11-20")
    assert (line["stage"], line["shot"], line["take"]) == ("S2", "010-030", "2")
    assert said(session, "ben 21-30 stage s1")["stage"] == "S1"


def test_several_people_are_written_together_or_not_at_all(session: DaySession) -> None:
    logged = session.log_line(split_words("ana+ben wick 31-60 share 2,1"))
    assert [str(each.number) for each in logged] == ["A-4", "A-5"]
    assert [str(each.line.work.share) for each in logged if each.line and each.line.work] == [
        "2", "1",
    ]  # fmt: skip
    with pytest.raises(WrongCall):
        session.log_line(split_words("ana+ben wick 61-60"))
    assert len(session.now().lines) == 5


def test_names_of_several_words_are_read_where_codes_are_not(session: DaySession) -> None:
    line = said(session, "ana lind animation the wick 31-60 1/2 day")
    assert (line["person"], line["character"], line["minutes"]) == ("ana", "wick", "300")
    assert said(session, "person Ana Lind character the wick 61-70")["frames"] == "61-70"
    assert said(session, "ana on 28 feb 2026 1-3")["finished_on"] == "2026-02-28"


def test_a_word_of_several_meanings_asks_and_may_be_said(session: DaySession) -> None:
    words = split_words("animation echo wick 31-60")
    with pytest.raises(AmbiguousWordError) as asked:
        session.log_line(words)
    assert str(asked.value) == (
        "'echo': is a person and a character. Say which is meant: person echo or character echo."
    )
    meant = asked.value.meant(words, ("person", "echo"))
    assert session.cells(meant)["person"] == "echo"
    with pytest.raises(AmbiguousWordError, match="shot 12 or frames 12"):
        session.log_line(split_words("ana wick 12"))
    assert said(session, "ana wick frames 12")["frames"] == "12"
    with pytest.raises(AmbiguousWordError, match=r"ben1 \(Bo Moss\) or ben2 \(Bo Moss\)"):
        session.log_line(split_words("animation bo moss wick"))


@pytest.mark.parametrize(
    ("line", "what"),
    [
        ("xyzzy", "no craft, person, character, puppet, part, sequence, shot or stage has this"),
        ("wick 31-60", "says not who did it"),
        ("echo person ana wick person ben", "is a person and a character"),
        ("ben1 wick 31-60", "says no craft"),
        ("ana wick brine", "two characters: wick and brine"),
        ("ana ben wick", "Join them: ana+ben"),
        ("ana 1-20 21-30", "frames twice"),
        ("ana wick 60-31", "a range runs backwards"),
        ("ana take", "nothing stands behind take"),
        ("ana wick take two", "take 'two'"),
        ("ana wick minutes 8x", "minutes '8x'"),
        ("ana wick on someday", "finished_on 'someday'"),
        ("ana wick-1 brine", "is a puppet of wick, not of brine"),
        ("<script>", "<script>"),
        ("=cmd() ana", "=cmd()"),
        ("🎩 ana", "🎩"),
        ("ana " + "x" * 300, "xxx"),
        ("ana -- a\x1bb", "control character"),
    ],
)
def test_lines_that_cannot_be_used_write_nothing(session: DaySession, line: str, what: str) -> None:
    with pytest.raises(CreditsError) as refused:
        session.log_line(split_words(line))
    assert what in str(refused.value)
    assert len(session.now().lines) == 3


def test_the_same_line_again_writes_nothing(session: DaySession) -> None:
    said(session, "ana wick 31-60 8h")
    (again,) = session.log_line(split_words("ana wick 31-60 8h"))
    assert (str(again.number), again.line) == ("A-4", None)
    assert [str(number) for number in session.numbers()] == ["A-4"]


def test_undo_takes_the_own_lines_back_one_by_one(session: DaySession) -> None:
    session.log_line(split_words("ana+ben wick 31-60"))
    session.amend(split_words("A-4 A-5 frames 31-40 minutes 8h"))
    session.void(split_words("A-5 it was Ben on another day"))

    def there() -> list[tuple[str, str, object]]:
        return [
            (entry.person, entry.work.frames.text if entry.work.frames else "", entry.work.minutes)
            for entry in session.entries()
        ]

    assert there() == [("ana", "31-40", 480)]
    session.undo()
    assert there() == [("ana", "31-40", 480), ("ben", "31-40", 480)]
    session.undo()
    assert there() == [("ana", "31-60", None), ("ben", "31-60", None)]
    session.undo()
    assert there() == []
    assert session.numbers() == []
    with pytest.raises(WrongCall, match="nothing of this session"):
        session.undo()


def test_what_somebody_else_amended_is_not_undone(session: DaySession, folder: Path) -> None:
    said(session, "ana wick 31-60")
    with open_log(folder) as other:
        DaySession(other, TUESDAY).amend(split_words("A-4 frames 31-50"))
    with pytest.raises(ProblemsFound, match="was amended since, by A-5"):
        session.undo()


def test_what_others_write_meanwhile_is_seen(session: DaySession, folder: Path) -> None:
    said(session, "ana wick 31-60 8h")
    row = {"craft": "paint", "person": "ben", "character": "wick", "finished_on": "2026-03-03"}
    log_entries(folder, lambda *_: row)
    (logged,) = session.log_line(split_words("paint ben wick stage ''"))
    assert (str(logged.number), logged.line) == ("A-5", None)
    (after,) = session.log_line(split_words("ana brine 31-60 8h"))
    assert str(after.number) == "A-6"


def test_corrections_need_an_entry_and_a_reason(session: DaySession) -> None:
    for write, line in [
        (session.amend, ""), (session.amend, "A-1"), (session.amend, "A-99 frames 1-3"),
        (session.amend, "A-1 frames 3-1"), (session.void, "A-1"), (session.void, ""),
    ]:  # fmt: skip
        with pytest.raises(WrongCall):
            write(split_words(line))
    (amended,) = session.amend(split_words('A-1 minutes "" note "the *left* hand"'))
    assert amended.changes == {"minutes": ("480", None), "note": (None, "the *left* hand")}


def test_what_is_still_missing_is_said(session: DaySession) -> None:
    said(session, "ana wick")
    (missing,) = session.missing()
    assert missing.place == "S1"
    assert [(str(e.number), columns) for e, columns in missing.entries] == [
        ("A-4", ("frames", "minutes")),
    ]  # fmt: skip
    assert missing.idle == ()
    assert in_words(session.numbers()) == "Written: 1 line, A-4."


def test_the_tab_key_knows_codes_and_what_is_called_so(session: DaySession) -> None:
    assert session.completions("wick") == ["wick", "wick-1", "wick-2"]
    assert session.completions("lin") == ["ana"]
    assert session.completions("moss") == []
    assert "undo" in session.completions("un")


def test_a_day_and_a_stage_that_are_not_are_refused(session: DaySession) -> None:
    session.be_on("6 mar 2026")
    assert session.on == date(2026, 3, 6)
    for go, where in [(session.be_on, "someday"), (session.be_at, "S9")]:
        with pytest.raises(WrongCall):
            go(where)
    assert (session.on, session.stage) == (date(2026, 3, 6), "S1")


def test_a_production_without_anything(tmp_path: Path) -> None:
    folder = production_from(tmp_path / "film", [])
    with open_log(folder) as log:
        session = DaySession(log, TUESDAY)
        assert session.entries() == []
        assert session.missing() == []
        with pytest.raises(WrongCall):
            session.log_line(split_words("animation ana wick"))
        assert in_words(session.numbers()) == "Nothing was written."


def test_the_numbers_of_a_void_end_where_its_reason_begins(session: DaySession) -> None:
    logged = session.void(split_words("A-1 a-2 A-3rd of these was Ben's"))
    assert [str(each.line.corrects) for each in logged if each.line] == ["A-1", "A-2"]
    assert {each.line.why for each in logged if each.line} == {"A-3rd of these was Ben's"}
