"""What is kept of a log of two units stands in the order of its entries, whoever logged them."""

from __future__ import annotations

from pathlib import Path

from credits.app.logs.merge import merge_logs
from credits.figures.keep import open_figures
from credits.figures.lookups import kept_ledger
from credits.figures.renewal import Depth
from credits.model.facts import Character, EntryNumber, Person, Work
from credits.model.log import Batch, NewLine, Verb
from credits.model.replay import replay
from credits.store.log import open_log
from credits.store.production import create_production


def voiced(folder: Path, *persons: str) -> None:
    lines = (
        NewLine(verb=Verb.RECORD, work=Work(craft="voice", person=person, character="wick"))
        for person in persons
    )
    with open_log(folder) as log, log.writing() as writer:
        writer.write(Batch(lines=tuple(lines)))


def test_people_stand_by_their_first_entry_of_the_first_unit(tmp_path: Path) -> None:
    main = create_production(tmp_path / "main", "The Lamplighter")
    second = create_production(tmp_path / "second", "The Lamplighter", origin="B")
    people = tuple(Person(code=code, credit_name=code.capitalize()) for code in ("ana", "ben"))
    with open_log(main) as log, log.writing() as writer:
        writer.write(Batch(people=people, characters=(Character(code="wick", name="Wick"),)))
    merge_logs(second, main)
    voiced(main, "ana")
    with open_log(main) as log, log.writing() as writer:
        void = NewLine(verb=Verb.VOID, corrects=EntryNumber("A", 1), why="Twice.")
        writer.write(Batch(lines=(void,)))
    voiced(main, "ana", "ben")
    voiced(second, "ben")  # B-1: the lowest number, but not the first entry
    merge_logs(main, second)
    with open_log(main) as log:
        computed = replay(log.read())
    file = open_figures(main, Depth.FIGURES)
    try:
        kept = kept_ledger(file)
        assert list(kept.entries_by_person) == list(computed.entries_by_person) == ["ana", "ben"]
        assert dict(kept.entries_by_person) == computed.entries_by_person
    finally:
        file.close()
