"""PROV documents, read back by the library that reads them for everybody, and their JSON-LD kin."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date
from typing import Any

import pytest
from prov.constants import PROV, PROV_LABEL, PROV_ROLE, PROV_TYPE
from prov.model import (
    ProvActivity,
    ProvAgent,
    ProvAssociation,
    ProvAttribution,
    ProvDerivation,
    ProvDocument,
    ProvEntity,
    ProvGeneration,
    ProvInfluence,
    ProvMembership,
    ProvUsage,
)

from credits.editions import Edition
from credits.formats.standards.account import Agent, Credited, Thing
from credits.formats.standards.prov import (
    EBU,
    FIAF,
    MARC,
    jsonld,
    local_name,
    prov_document,
    prov_json,
    prov_n,
    role_code,
    role_text,
)
from credits.model.facts import BUILT_IN_CRAFTS
from tests.formats.accounts import (
    CREW_AND_OFFICE,
    FILM,
    NEVER,
    OFFICE_ALONE,
    THE_FILM,
    account,
    character,
    shot,
)

PUBLIC, CREW, OFFICE = Edition.PUBLIC, Edition.CREW, Edition.OFFICE
SCOPES = [FILM, character("wick"), shot("canary-shot")]


def read(text: str) -> ProvDocument:
    return ProvDocument.deserialize(content=text, format="json")


def pairs(document: ProvDocument, kind: type) -> set[tuple[str, str]]:
    """The first two names of every record of a kind."""
    return {
        tuple(str(value) for value in record.args[:2])  # type: ignore[misc]
        for record in document.get_records(kind)
    }


# --- PROV


@pytest.mark.parametrize("edition", list(Edition))
@pytest.mark.parametrize("scope", SCOPES[:2])
def test_what_is_written_is_read_back_as_it_was(edition: Edition, scope: Thing) -> None:
    found = account(edition, scope)
    assert read(prov_json(found)) == prov_document(found)
    assert ProvDocument.deserialize(content=prov_n(found), format="provn") == prov_document(found)


def test_people_are_agents_work_is_activity_things_are_entities() -> None:
    document = read(prov_json(account()))
    names = {
        kind: {str(record.identifier) for record in document.get_records(kind)}
        for kind in (ProvAgent, ProvActivity, ProvEntity)
    }
    assert names[ProvAgent] == {"person:ana", "person:ben", "person:cai"}
    assert names[ProvActivity] == {f"work:A-{n}" for n in range(1, 12)}
    assert names[ProvEntity] == {
        "film:small", "character:wick", "character:brine", "puppet:wick-1", "puppet:wick-2",
        "puppet:brine-1", "part:wick-face-3", "part:coat", "shot:canary-shot",
        "shot:canary-shot-2",
    }  # fmt: skip
    (ana,) = document.get_record("person:ana")
    assert ana.get_attribute(PROV_LABEL) == {"Ana Lind"}


def test_who_did_what_with_what() -> None:
    document = read(prov_json(account()))
    assert ("work:A-1", "person:ana") in pairs(document, ProvAssociation)
    assert pairs(document, ProvUsage) == {
        ("work:A-1", "puppet:wick-1"),
        ("work:A-2", "puppet:wick-1"),
        ("work:A-3", "puppet:brine-1"),
        ("work:A-10", "character:wick"),
        ("work:A-11", "puppet:wick-1"),
    }
    assert pairs(document, ProvGeneration) == {
        ("shot:canary-shot", "work:A-1"),
        ("shot:canary-shot-2", "work:A-3"),
        ("character:wick", "work:A-4"),
        ("puppet:wick-1", "work:A-5"),
        ("puppet:wick-2", "work:A-6"),
        ("part:coat", "work:A-7"),
        ("part:wick-face-3", "work:A-9"),
    }
    assert pairs(document, ProvInfluence) == {
        ("shot:canary-shot", "work:A-2"),
        ("part:coat", "work:A-8"),
    }
    assert pairs(document, ProvDerivation) == {
        ("puppet:wick-1", "part:coat"),
        ("puppet:wick-2", "part:coat"),
        ("puppet:wick-1", "character:wick"),
        ("shot:canary-shot", "part:wick-face-3"),
    }
    assert ("film:small", "shot:canary-shot") in pairs(document, ProvMembership)


# --- What W3C's PROV-CONSTRAINTS (Recommendation, 30 April 2013) ask of a valid document

LATER = """
    [people]
    person, credit_name, credit_wish
    ana, Ana Lind
    ben, Ben Holm
    cai, Cai Moss, uncredited

    [characters]
    character
    wick
    brine

    [puppets]
    puppet, character, copy
    wick-1, wick, 1
    brine-1, brine, 1

    [sequences]
    sequence
    010

    [shots]
    shot, sequence, frames
    010-1, 010, 48

    [entries]
    craft, person, character, puppet, shot, frames, finished_on
    casting, ben, , wick-1, , , 2026-02-09
    paint, ana, , wick-1, , ,
    casting, ana, , wick-1, , , 2026-02-01
    casting, cai, , wick-1, , , 2026-01-20
    sculpt, ana, wick, , , , 2026-01-05
    sculpt, ben, wick, , , , 2026-01-04
    animation, ana, wick, wick-1, 010-1, 1-20, 2026-03-04
    animation, ben, brine, brine-1, 010-1, 1-48, 2026-03-03
"""


def broken(document: ProvDocument) -> list[str]:
    """What is wrong with a document by PROV-CONSTRAINTS, by the names that these have there.

    Days of works are terms of our own; they are held to the orders of events all the same.
    """
    found: list[str] = []
    made: dict[str, set[str]] = {}
    for thing, work in pairs(document, ProvGeneration):
        made.setdefault(thing, set()).add(work)
    for record in document.get_records(ProvDerivation):
        thing, of, work = (str(each) if each else "" for each in record.args[:3])
        if work:  # derivation-generation-use-inference
            made.setdefault(thing, set()).add(work)
        if thing == of:  # derivation-generation-generation-ordering
            found.append(f"irreflexive: {thing}")
    found += [f"generation-generation-ordering: {t}" for t, works in made.items() if len(works) > 1]
    names = {
        kind: {str(record.identifier) for record in document.get_records(kind)}
        for kind in (ProvEntity, ProvActivity, ProvAgent)
    }
    both = names[ProvEntity] & names[ProvActivity]
    found += [f"entity-activity-disjoint: {name}" for name in sorted(both)]
    for kind in (ProvGeneration, ProvInfluence):
        for thing, work in pairs(document, kind):
            if thing not in names[ProvEntity] or work not in names[ProvActivity]:
                found.append(f"typing: {thing}, {work}")
    twice = pairs(document, ProvGeneration) & pairs(document, ProvInfluence)
    return sorted(found + [f"said twice: {pair}" for pair in twice])


@pytest.mark.parametrize("edition", list(Edition))
@pytest.mark.parametrize("text", [THE_FILM, LATER])
def test_a_thing_is_generated_once_however_many_worked_on_it(edition: Edition, text: str) -> None:
    for scope in (FILM, character("wick")):
        assert broken(read(prov_json(account(edition, scope, text)))) == []


def test_the_check_of_constraints_finds_a_thing_that_is_generated_twice() -> None:
    found = account(CREW, text=LATER)
    works = tuple(replace(work, began=work.made) for work in found.works)
    assert broken(read(prov_json(replace(found, works=works)))) == [
        "generation-generation-ordering: character:wick",
        "generation-generation-ordering: puppet:wick-1",
        "generation-generation-ordering: shot:010-1",
    ]
    derived = tuple(replace(each, began=True) for each in found.derived)
    assert broken(read(prov_json(replace(found, derived=derived)))) == [
        "generation-generation-ordering: puppet:wick-1"
    ]


def test_a_thing_begins_with_the_earliest_day_and_the_rest_is_influence() -> None:
    for scope in (FILM, character("wick"), shot("010-1")):
        document = read(prov_json(account(OFFICE, scope, LATER)))
        begun, later = pairs(document, ProvGeneration), pairs(document, ProvInfluence)
        assert ("character:wick", "work:A-6") in begun
        assert ("puppet:wick-1", "work:A-4") in begun
        assert {work for thing, work in later if thing == "puppet:wick-1"} == {
            "work:A-1",
            "work:A-2",
            "work:A-3",
        }
        # Brine was animated first: in the account of Wick the shot is begun by nobody.
        assert (("shot:010-1", "work:A-8") in begun) == (scope != character("wick"))
        assert ("shot:010-1", "work:A-7") in later


def test_for_the_public_a_thing_begins_with_somebody_whom_they_read_of() -> None:
    document = read(prov_json(account(PUBLIC, FILM, LATER)))
    assert {str(t): str(w) for t, w in pairs(document, ProvGeneration)} == {
        "puppet:wick-1": "work:casting%2Fben%2Fpuppet%2Fwick-1",
        "character:wick": "work:sculpt%2Fana%2Fcharacter%2Fwick",
    }


def test_a_later_casting_is_named_beside_the_derivation() -> None:
    document = read(prov_json(account(CREW, FILM, LATER)))
    by = {
        (str(record.args[2] or ""), *(str(value) for value in record.get_attribute("terms:work")))
        for record in document.get_records(ProvDerivation)
    }
    assert by == {("work:A-4",), ("", "work:A-1"), ("", "work:A-3")}


def roles(document: ProvDocument, work: str) -> dict[str, set[str]]:
    (found,) = (
        record for record in document.get_records(ProvAssociation) if str(record.args[0]) == work
    )
    said: dict[str, set[str]] = {}
    for name, value in found.attributes:
        said.setdefault(str(name), set()).add(str(value))
    return said


def test_a_role_is_our_own_name_beside_the_lists_that_have_it() -> None:
    document = read(prov_json(account()))
    voice = roles(document, "work:A-10")
    assert voice[str(PROV_ROLE)] == {"Voice", "marcrel:vac"}
    assert voice["terms:fiaf"] == {"B.7.7 Voices"}
    assert voice["terms:ebu"] == {"none"}
    repair = roles(document, "work:A-11")
    assert repair[str(PROV_ROLE)] == {"Puppet repair"}
    assert {repair[f"terms:{name}"].pop() for name in ("marc", "fiaf", "ebu")} == {"none"}
    costume = roles(document, "work:A-7")  # a costume designer is near, not the same
    assert costume[str(PROV_ROLE)] == {"Costume making"}
    assert costume["terms:marc"] == {"near cst costume designer"}


@pytest.mark.parametrize(
    ("craft", "of", "text"),
    [
        # MARC relators, FIAF Glossary of Filmographic Terms, EBU role codes
        ("voice", MARC, "vac voice actor"),
        ("singing", MARC, "sng singer"),
        ("sculpt", MARC, "scl sculptor"),
        ("casting", MARC, "cas caster"),
        ("animation", MARC, "anm animator"),
        ("singing", FIAF, "B.11.8 SingingVoice"),
        ("design", FIAF, "B.13.14 CharacterDesigner"),
        ("animation", FIAF, "B.13.11 Animator"),
        ("costume", FIAF, "B.6.17 CostumeMaker"),
        ("hair", FIAF, "near B.6.20 HairStylist"),
        ("rigging", FIAF, "near B.8.3 MechanicalEffects"),
        ("animation", EBU, "4.19 animator"),
        ("mould", EBU, "13.2.9 mold maker"),
        ("fabrication", EBU, "near 4.36 model maker"),
        ("paint", FIAF, "none"),
        ("a-craft-of-our-own", MARC, "none"),
    ],
)
def test_the_codes_of_the_lists(craft: str, of: str, text: str) -> None:
    assert role_text(craft, of) == text


def test_no_list_has_both_mould_making_and_repair() -> None:
    for of in (MARC, FIAF, EBU):
        assert not (role_code("mould", of) and role_code("repair", of))
    assert {craft.code for craft in BUILT_IN_CRAFTS} >= {"mould", "repair"}


@pytest.mark.parametrize(
    ("code", "name"),
    [
        ("wick-1", "wick-1"),
        ("-x", "%2Dx"),
        ("a.b~c", "a%2Eb%7Ec"),
        ("010/020 (b)", "010%2F020%20%28b%29"),
        ("灯", "%E7%81%AF"),
        ("<b>'\"", "%3Cb%3E%27%22"),
    ],
)
def test_a_code_of_any_script_is_a_name_for_machines(code: str, name: str) -> None:
    assert local_name(code) == name


ODD = r'''
    [people]
    person, credit_name
    灯🔥, "=cmd() ""quoted"" <script> \ שלום"
    'x y', Prince

    [characters]
    character, name
    "a,b", "Wick %20 'n' Brine"

    [entries]
    craft, person, character, note
    voice, 灯🔥, "a,b", "line \ end """
    sculpt, 'x y', "a,b"
'''


def test_odd_names_and_codes_come_back_as_they_are() -> None:
    found = account(CREW, text=ODD)
    document = read(prov_json(found))
    assert document == prov_document(found)
    assert ProvDocument.deserialize(content=prov_n(found), format="provn") == document
    labels = {
        str(label)
        for agent in document.get_records(ProvAgent)
        for label in agent.get_attribute(PROV_LABEL)
    }
    assert labels == {'=cmd() "quoted" <script> \\ שלום', "Prince"}
    (voice,) = json.loads(jsonld(found))["actor"]
    assert voice["actor"]["name"] == '=cmd() "quoted" <script> \\ שלום'
    assert voice["characterName"] == "Wick %20 'n' Brine"


@pytest.mark.parametrize("write", [prov_json, prov_n, jsonld])
def test_same_log_same_bytes(write: Any) -> None:
    assert write(account()) == write(account())
    assert write(account(text="")).strip()


# --- Who prints without work in the log

ENGAGED = """
    [people]
    person, credit_name, credit_wish
    ana, Ana Lind
    dir, Dag Regi
    edi, Eda Klipp
    hid, Hidden Name, uncredited

    [characters]
    character
    wick

    [engagements]
    person, department, job_title, guaranteed_heading, billing_number
    dir, Direction, Director, Directed by, 1
    edi, Editing, Editor
    hid, Editing, Assistant editor
    ana, Voice, Voice artist

    [entries]
    craft, person, character
    voice, ana, wick
"""


@pytest.mark.parametrize("edition", list(Edition))
def test_everybody_who_prints_is_an_agent_of_the_film_with_their_role(edition: Edition) -> None:
    found = account(edition, text=ENGAGED)
    document = read(prov_json(found))
    assert document == prov_document(found)
    assert ProvDocument.deserialize(content=prov_n(found), format="provn") == document
    attributed = {
        str(record.args[1]): {str(value) for value in record.get_attribute(PROV_ROLE)}
        for record in document.get_records(ProvAttribution)
    }
    assert attributed["person:dir"] == {"Directed by"}
    assert attributed["person:edi"] == {"Editor"}
    movie = json.loads(jsonld(found))
    roles_ = {role["contributor"]["name"]: role["roleName"] for role in movie["contributor"]}
    assert (roles_["Dag Regi"], roles_["Eda Klipp"]) == ("Directed by", "Editor")
    assert "Hidden" not in jsonld(found)
    assert "Hidden" not in prov_json(found)


def test_companies_are_organizations_and_songs_are_nobody() -> None:
    found = account(text=ENGAGED)
    mill = Credited(kind="company", agent="Mill & Sons", heading="Made at", role="")
    film = replace(
        found,
        agents=(*found.agents, Agent("Mill & Sons", "Mill & Sons", kind="company")),
        credited=(*found.credited, mill),
    )
    document = read(prov_json(film))
    (agent,) = document.get_record("company:Mill%20%26%20Sons")
    assert agent.get_attribute(PROV_TYPE) == {PROV["Organization"]}
    assert ProvDocument.deserialize(content=prov_n(film), format="provn") == document
    last = json.loads(jsonld(film))["contributor"][-1]
    assert (last["@type"], last["roleName"]) == ("Role", "Made at")
    assert last["contributor"] == {
        "@type": "Organization",
        "@id": "urn:x-performance-credits:small:company:Mill%20%26%20Sons",
        "name": "Mill & Sons",
    }


# --- JSON-LD


def said(edition: Edition, scope: Thing = FILM) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(jsonld(account(edition, scope)))
    return found


def test_the_film_is_a_movie_with_its_voices_and_contributors() -> None:
    movie = said(OFFICE)
    assert (movie["@context"], movie["@type"]) == ("https://schema.org", "Movie")
    assert movie["name"] == "The Small Film"
    assert [person["name"] for person in movie["character"]] == ["Wick", "Brine"]
    (voice,) = movie["actor"]
    assert voice["@type"] == "PerformanceRole"
    assert (voice["characterName"], voice["roleName"]) == ("Wick", "Voice")
    assert voice["actor"] == {
        "@type": "Person",
        "@id": "urn:x-performance-credits:small:person:ana",
        "name": "Ana Lind",
        "identifier": {
            "@type": "PropertyValue", "propertyID": "ISNI", "value": "000000012281955X"
        },
    }  # fmt: skip
    assert (voice["startDate"], voice["endDate"]) == ("2025-06-01", "2025-06-01")
    contributors = [
        (role["roleName"], role.get("description"), role["contributor"]["name"])
        for role in movie["contributor"]
    ]
    assert contributors[:3] == [
        ("Animation", "Wick", "Ana Lind"),
        ("Animation", "Wick", "canary-uncredited"),
        ("Animation", "Brine", "Cai <script>"),
    ]
    assert ("Costume making", None, "Cai <script>") in contributors
    assert {role["@type"] for role in movie["contributor"]} == {"Role"}


def test_a_role_carries_what_each_list_calls_it() -> None:
    (voice,) = said(PUBLIC)["actor"]
    assert {each["propertyID"]: each["value"] for each in voice["identifier"]} == {
        MARC: "vac",
        FIAF: "B.7.7",
        EBU: "none",
    }


def test_the_crew_sees_the_shots_as_clips() -> None:
    clips = said(CREW)["hasPart"]
    assert [(clip["@type"], clip["name"]) for clip in clips] == [
        ("Clip", "canary-shot"),
        ("Clip", "canary-shot-2"),
    ]
    assert [role["contributor"]["name"] for role in clips[1]["contributor"]] == ["Cai <script>"]
    assert "hasPart" not in said(PUBLIC)


def test_a_shot_is_a_clip_of_the_movie_with_everybody_whose_hands_are_in_it() -> None:
    clip = said(CREW, shot("canary-shot"))
    assert (clip["@type"], clip["isPartOf"]["name"]) == ("Clip", "The Small Film")
    assert [role["characterName"] for role in clip["actor"]] == ["Wick"]
    assert "Puppet sculpting" in {role["roleName"] for role in clip["contributor"]}


def test_the_uncredited_have_neither_name_nor_id_for_the_crew() -> None:
    roles_ = said(CREW)["contributor"]
    nameless = [role["contributor"] for role in roles_ if "@id" not in role["contributor"]]
    assert nameless
    assert all(person == {"@type": "Person", "name": "uncredited"} for person in nameless)


def test_the_caution_is_in_every_document() -> None:
    for edition in Edition:
        assert "legal department clears it" in jsonld(account(edition))
        assert "legal department clears it" in prov_json(account(edition))
    assert "not comparable across people" in prov_n(account(OFFICE))


# --- What no byte may say


@pytest.mark.parametrize("write", [prov_json, prov_n, jsonld])
@pytest.mark.parametrize(
    ("edition", "scope"),
    [(e, s) for e in Edition for s in SCOPES if (e, s) != (PUBLIC, shot("canary-shot"))],
)
def test_an_export_holds_nothing_that_its_edition_may_not_show(
    edition: Edition, scope: Thing, write: Any
) -> None:
    text = write(account(edition, scope))
    hidden = list(NEVER)
    if edition is not OFFICE:
        hidden += OFFICE_ALONE
        assert ":ben" not in text
        assert '"ben"' not in text
    if edition is PUBLIC:
        hidden += CREW_AND_OFFICE
        assert "A-1" not in text
    assert [word for word in hidden if word in text] == []


def test_the_canaries_sing_where_they_may() -> None:
    office, crew = prov_json(account(OFFICE)), prov_json(account(CREW))
    assert [word for word in OFFICE_ALONE if word not in office] == []
    assert [word for word in CREW_AND_OFFICE if word not in crew] == []


# --- Work of several days, and of several things


def test_a_role_ends_on_the_last_day_of_its_work_and_begins_with_the_first() -> None:
    found = account(OFFICE)
    voice = next(work for work in found.works if work.craft == "voice")
    begun, later = date(2025, 5, 30), date(2025, 7, 2)
    works = (
        replace(voice, key="A-90", started_on=None, finished_on=later),
        *(replace(work, started_on=begun) if work is voice else work for work in found.works),
    )
    movie = json.loads(jsonld(replace(found, works=works)))
    (role,) = movie["actor"]
    assert (role["startDate"], role["endDate"]) == ("2025-05-30", "2025-07-02")


def test_everything_that_work_used_is_said() -> None:
    found = account()
    both = (("puppet", "wick-1"), ("part", "coat"))
    works = tuple(replace(w, used=both) if w.key == "A-1" else w for w in found.works)
    used = pairs(read(prov_json(replace(found, works=works))), ProvUsage)
    assert {thing for work, thing in used if work == "work:A-1"} == {"puppet:wick-1", "part:coat"}
