"""What a renewal has changed: of whom kept rows of takes say something else."""

from __future__ import annotations

import json
from contextlib import closing
from datetime import date
from pathlib import Path

from credits.app.site import build_sites
from credits.editions import Edition
from credits.figures.changed import EVERYTHING, ChangedPages, people_changed
from credits.figures.keep import open_figures
from credits.figures.lookups import kept_ledger
from credits.figures.renewal import Depth
from credits.model import facts
from credits.model.log import Batch, NewLine, Verb
from credits.store.log import open_log
from tests.productions import production_from, written_tables


def way(at: int, thing: str, *people: str) -> tuple[object, ...]:
    """A row of ways: its place in the take, the thing, and whose work comes that way."""
    return ("010-010", 1, at, "puppet", thing, "", 20, json.dumps(people))


def test_who_comes_in_by_a_way_has_changed_and_who_was_there_has_not() -> None:
    before = [way(0, "wick-1", "ana", "ben")]
    after = [way(0, "wick-1", "ana", "ben", "cai")]
    assert people_changed("ways", before, after) == {("ways", "cai")}


def test_who_comes_by_another_thing_has_changed() -> None:
    before = [way(0, "wick-1", "ana", "ben"), way(1, "wick-2", "cai")]
    after = [way(0, "wick-1", "ana"), way(1, "wick-2", "ben", "cai")]
    assert people_changed("ways", before, after) == {("ways", "ben")}


def test_the_order_within_a_take_changes_nobody() -> None:
    before = [way(0, "wick-1", "ana"), way(1, "wick-2", "cai")]
    after = [way(0, "wick-2", "cai"), way(1, "wick-1", "ana")]
    assert people_changed("ways", before, after) == set()


def test_whose_frames_are_others_has_changed() -> None:
    def animated(person: str, ranges: str) -> tuple[object, ...]:
        return (person, "010-010", 1, "animation", "wick", ranges)

    before = [animated("ana", "1-20"), animated("ben", "21-40"), animated("cai", "41-48")]
    after = [animated("ana", "1-20"), animated("ben", "21-30")]
    assert people_changed("animated", before, after) == {("footage", "ben"), ("footage", "cai")}


TABLES = {
    "people": "person,credit_name\nana,Ana\nben,Ben",
    "characters": "character,name\nwick,Wick\nbrine,Brine",
    "puppets": "puppet,character\nwick-1,wick\nbrine-1,brine",
    "sequences": "sequence,name\n010,One",
    "shots": "shot,sequence,frames\n010-010,010,48\n010-020,010,48",
    "entries": """craft,person,puppet,shot,frames,finished_on
        animation,ana,wick-1,010-010,1-20,2026-03-02
        animation,ben,brine-1,010-020,1-20,2026-03-09""",
}


def test_an_entry_changes_the_pages_that_it_is_about_and_those_of_what_it_made(
    tmp_path: Path,
) -> None:
    film = production_from(tmp_path / "film", [written_tables(tmp_path / "tables", TABLES)])
    with closing(open_figures(film, Depth.REACH)) as before:
        _, renewal = before.renewals()
    work = facts.Work(craft="sculpt", person="ben", puppet="wick-1")
    with open_log(film) as log, log.writing() as writer:
        writer.write(Batch(lines=(NewLine(verb=Verb.RECORD, work=work),)))
    with closing(open_figures(film, Depth.REACH)) as file:
        pages = ChangedPages(file.changed_since(renewal), kept_ledger(file), file)
        changed = [("shot", "010-010"), ("puppet", "wick-1"), ("character", "wick")]
        changed += [("person", "ben"), ("craft", "sculpt")]
        stay = [("shot", "010-020"), ("puppet", "brine-1"), ("character", "brine")]
        stay += [("person", "ana"), ("craft", "animation"), ("week", "2026-W10"), ("", "")]
        stay += [("shots", ""), ("repairs", "")]
        assert [page for page in changed if page not in pages] == []
        assert [page for page in stay if page in pages] == []
        assert ("shot", "010-020") in ChangedPages([EVERYTHING], kept_ledger(file), file)


def test_what_is_about_all_shots_or_all_repairs_changes_with_any_of_them(tmp_path: Path) -> None:
    film = production_from(tmp_path / "film", [written_tables(tmp_path / "tables", TABLES)])
    repair = facts.Work(craft="repair", person="ben", puppet="wick-1")
    more = facts.Work(craft="lip-sync", person="ben", character="wick", shot="010-020")
    for work, changed, stays in (
        (repair, ("repairs", ""), ("shots", "")),
        (more, ("shots", ""), ("repairs", "")),
    ):
        with closing(open_figures(film, Depth.REACH)) as before:
            _, renewal = before.renewals()
        with open_log(film) as log, log.writing() as writer:
            writer.write(Batch(lines=(NewLine(verb=Verb.RECORD, work=work),)))
        with closing(open_figures(film, Depth.REACH)) as file:
            pages = ChangedPages(file.changed_since(renewal), kept_ledger(file), file)
            assert changed in pages
            assert stays not in pages


def test_figures_made_anew_keep_no_note_of_what_was_before(tmp_path: Path) -> None:
    film = production_from(tmp_path / "film", [written_tables(tmp_path / "tables", TABLES)])
    build_sites(film, [Edition.CREW])
    people = (facts.Person(code="ana", credit_name="Ana", same_as="ben"),)
    with open_log(film) as log, log.writing() as writer:
        writer.write(Batch(people=people))
    with closing(open_figures(film, Depth.REACH)) as file:
        assert file.pages(film / "site" / "crew") == {}


def test_work_on_a_part_changes_the_pages_of_who_wears_it_and_of_its_week(tmp_path: Path) -> None:
    worn = {
        "parts": "part,kind,character\nhead-1,head,wick",
        "fittings": "part,puppet,from_on\nhead-1,wick-1,2026-03-01",
    }
    tables = written_tables(tmp_path / "tables", {**TABLES, **worn})
    film = production_from(tmp_path / "film", [tables])
    with closing(open_figures(film, Depth.REACH)) as before:
        _, renewal = before.renewals()
    on = date(2026, 3, 17)
    work = facts.Work(craft="sculpt", person="ben", part="head-1", finished_on=on)
    with open_log(film) as log, log.writing() as writer:
        writer.write(Batch(lines=(NewLine(verb=Verb.RECORD, work=work),)))
    with closing(open_figures(film, Depth.REACH)) as file:
        pages = ChangedPages(file.changed_since(renewal), kept_ledger(file), file)
        assert ("puppet", "wick-1") in pages
        assert ("puppet", "brine-1") not in pages
        assert ("week", "2026-W12") in pages
        assert ("week", "2026-W11") not in pages
