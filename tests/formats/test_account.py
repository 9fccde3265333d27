"""The account of who made what: what belongs to it, and what each edition may hold of it."""

from __future__ import annotations

from datetime import date

import pytest

from credits.editions import Edition, field_rules
from credits.formats.standards.account import Account, Activity, Agent, Derivation, Entity
from tests.formats.accounts import account, character, shot

PUBLIC, CREW, OFFICE = Edition.PUBLIC, Edition.CREW, Edition.OFFICE


@pytest.mark.parametrize("model", [Agent, Entity, Activity, Derivation, Account])
def test_every_field_names_its_edition(model: type) -> None:
    assert field_rules(model)


def works(found: Account) -> list[tuple[str, str, tuple[object, ...], tuple[object, ...]]]:
    return [(work.craft, work.agent, work.made, work.used) for work in found.works]


def test_in_the_office_every_entry_is_a_work() -> None:
    found = account(OFFICE)
    assert [work.key for work in found.works] == [f"A-{n}" for n in range(1, 12)]
    first = found.works[0]
    assert (first.made, first.used) == ((("shot", "canary-shot"),), (("puppet", "wick-1"),))
    assert (first.frames, first.take, first.minutes) == ("1-30", 1, 77001)
    assert first.finished_on == date(2026, 3, 2)
    assert found.works[1].private_note == "canary-private"


def test_what_was_built_was_made_and_what_was_mended_was_used() -> None:
    by_craft = {work.craft: work for work in account(OFFICE).works}
    assert by_craft["sculpt"].made == (("character", "wick"),)
    assert by_craft["fabrication"].made == (("puppet", "wick-2"),)
    assert by_craft["faces"].made == (("part", "wick-face-3"),)
    assert (by_craft["repair"].made, by_craft["repair"].used) == ((), (("puppet", "wick-1"),))
    assert (by_craft["voice"].made, by_craft["voice"].used) == ((), (("character", "wick"),))


def test_the_public_knows_crafts_and_things_but_not_when_and_in_which_shot() -> None:
    found = account(PUBLIC)
    wick, brine = ("character", "wick"), ("character", "brine")
    assert works(found) == [
        ("animation", "ana", (), (wick,)),
        ("animation", "cai", (), (brine,)),
        ("sculpt", "cai", (wick,), ()),
        ("casting", "cai", (("puppet", "wick-1"),), ()),
        ("fabrication", "cai", (("puppet", "wick-2"),), ()),
        ("costume", "cai", (("part", "coat"),), ()),
        ("faces", "cai", (("part", "wick-face-3"),), ()),
        ("voice", "ana", (), (wick,)),
        ("repair", "ana", (), (wick,)),
    ]
    assert {thing.thing[0] for thing in found.things} == {"character", "puppet", "part"}
    assert [(row.how, row.thing[1], row.of[1], row.from_on) for row in found.derived] == [
        ("fitted", "wick-1", "coat", None),
        ("fitted", "wick-2", "coat", None),
        ("cast", "wick-1", "wick", None),
    ]


def test_uncredited_people_are_one_nameless_agent_for_the_crew() -> None:
    found = account(CREW)
    assert [(agent.key, agent.name) for agent in found.agents] == [
        ("ana", "Ana Lind"),
        ("cai", "Cai <script>"),
        ("", "uncredited"),
    ]
    assert [work.agent for work in found.works].count("") == 2


def test_uncredited_people_are_not_in_the_public_account_at_all() -> None:
    assert [agent.key for agent in account(PUBLIC).agents] == ["ana", "cai"]
    assert [agent.key for agent in account(OFFICE).agents] == ["ana", "cai", "ben"]


def test_a_character_with_its_copies_and_what_they_wore() -> None:
    found = account(OFFICE, character("wick"))
    assert [work.key for work in found.works] == [
        f"A-{n}" for n in (1, 2, 4, 5, 6, 7, 8, 9, 10, 11)
    ]
    assert "brine" not in {thing.thing[1] for thing in found.things}
    assert [(row.how, row.of[1]) for row in found.derived] == [
        ("fitted", "coat"),
        ("fitted", "coat"),
        ("cast", "wick"),
        ("shown", "wick-face-3"),
    ]


def test_a_shot_with_all_hands_that_are_in_it() -> None:
    found = account(CREW, shot("canary-shot"))
    # Wick-2 and Brine are not in the shot; the coat was on wick-1 on these days.
    assert [work.key for work in found.works] == [f"A-{n}" for n in (1, 2, 4, 5, 7, 8, 9, 10, 11)]
    assert [(row.how, row.thing[1], row.of[1]) for row in found.derived] == [
        ("fitted", "wick-1", "coat"),
        ("cast", "wick-1", "wick"),
        ("shown", "canary-shot", "wick-face-3"),
    ]


def test_the_public_sees_no_shot() -> None:
    with pytest.raises(ValueError, match="no shots"):
        account(PUBLIC, shot("canary-shot"))


@pytest.mark.parametrize("edition", list(Edition))
def test_whatever_a_work_names_is_among_the_things_and_agents(edition: Edition) -> None:
    found = account(edition)
    things = {thing.thing for thing in found.things}
    agents = {agent.key for agent in found.agents}
    for work in found.works:
        assert {*work.made, *work.used} <= things
        assert work.agent in agents
    keys = [work.key for work in found.works]
    assert len(keys) == len(set(keys))
    for row in found.derived:
        assert {row.thing, row.of} <= things
        assert row.work in {"", *keys}


def test_an_empty_production_is_an_empty_account() -> None:
    found = account(PUBLIC, text="")
    assert (found.agents, found.things, found.works, found.derived) == ((), (), (), ())
