"""A craft says itself whether it is a repair; a production's own counts like the built-in one."""

from __future__ import annotations

from pathlib import Path

from credits.billing.lines import performed_as
from credits.model.facts import BUILT_IN_CRAFTS
from credits.review.unit import repair_causes
from credits.review.waits import waited_for, waits_by_person
from tests.formats.given_tables import EMPTY, plan
from tests.small_log import small_ledger

FILM = """
    [crafts]
    craft, kind, repair
    rewire, build, yes
    polish, build, no

    [people]
    person
    ana
    ben

    [characters]
    character
    wick

    [puppets]
    puppet, character
    wick-1, wick

    [sequences]
    sequence
    010

    [shots]
    shot, sequence, frames
    010-020, 010, 48

    [entries]
    craft, person, puppet, shot, finished_on, wait_minutes
    animation, ana, wick-1, 010-020, 2026-03-02,
    rewire, ben, wick-1, , 2026-03-02, 30
    polish, ben, wick-1, , 2026-03-02, 20
    repair, ben, wick-1, , 2026-03-02, 10
"""


def test_of_the_built_in_crafts_one_is_a_repair() -> None:
    assert [craft.code for craft in BUILT_IN_CRAFTS if craft.repair] == ["repair"]


def test_a_craft_that_is_a_repair_counts_as_one_whatever_it_is_called() -> None:
    ledger = small_ledger(FILM)
    assert [e.craft for e in ledger.entries if ledger.is_repair(e)] == ["rewire", "repair"]
    assert [wait.minutes for wait in waits_by_person(waited_for(ledger))["ana"]] == [30, 10]
    assert [cause.wait for cause in repair_causes(ledger)] == [40]
    assert performed_as(ledger.crafts["rewire"]) == performed_as(ledger.crafts["repair"])
    assert performed_as(ledger.crafts["polish"]) != performed_as(ledger.crafts["repair"])


def test_the_crafts_table_says_which_craft_is_a_repair(tmp_path: Path) -> None:
    text = "craft,name,department,kind,repair\nrewire,Rewiring,Puppet hospital,build,yes"
    (craft,) = plan(tmp_path, EMPTY, crafts=text).batch.crafts
    assert craft.repair


def test_a_table_without_the_column_leaves_the_built_in_repair_one(tmp_path: Path) -> None:
    text = "craft,name,department,kind\nrepair,Puppet surgery,Puppet hospital,build"
    (craft,) = plan(tmp_path, EMPTY, crafts=text).batch.crafts
    assert (craft.name, craft.repair) == ("Puppet surgery", True)
