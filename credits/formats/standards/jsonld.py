"""The account as JSON-LD in the words of schema.org.

The film is a Movie, a shot a Clip. Voices are its ``actor``s, by a PerformanceRole with the
character's name; everybody else is a ``contributor``, by a Role with our own name of the craft.
"""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Iterable
from typing import Any

from credits.formats.standards.account import ANONYMOUS, Account, Activity, Agent
from credits.formats.standards.prov import LISTS, NONE, VOICES, role_code, role_text, urn

Node = dict[str, Any]


def jsonld(account: Account) -> str:
    """Return the account as a JSON-LD document. Same account, same text."""
    node = {"@context": "https://schema.org", **_JsonLdWriter(account).top()}
    return json.dumps(node, ensure_ascii=False, indent=1) + "\n"


class _JsonLdWriter:
    def __init__(self, account: Account) -> None:
        self.account = account
        self.people = {agent.key: self._person(agent) for agent in account.agents}
        self.place = {agent.key: at for at, agent in enumerate(account.agents)}
        self.characters = {
            thing.thing[1]: thing.name for thing in account.things if thing.thing[0] == "character"
        }

    def _id(self, kind: str, code: str) -> str:
        return urn(self.account.code, kind, code)

    def _person(self, agent: Agent) -> Node:
        node: Node = {"@type": "Person"}
        if agent.key != ANONYMOUS:
            node["@id"] = self._id("person", agent.key)
        node["name"] = agent.name
        if agent.isni:
            isni = {"@type": "PropertyValue", "propertyID": "ISNI", "value": agent.isni}
            node["identifier"] = isni
        return node

    # -- the film, a shot

    def top(self) -> Node:
        account = self.account
        movie: Node = {"@type": "Movie", "@id": self._id("film", account.code)}
        movie["name"] = account.title
        kind, code = account.about
        if kind == "shot":
            node = {**self._clip(code, account.works), "isPartOf": movie}
        else:
            cast = [
                {"@type": "Person", "@id": self._id("character", code), "name": name}
                for code, name in self.characters.items()
            ]
            node = {**movie, "character": cast, **self._roles(account.works)}
            by_shot: dict[str, list[Activity]] = defaultdict(list)
            for work in account.works:
                by_shot[work.shot].append(work)
            shots = (thing.thing[1] for thing in account.things if thing.thing[0] == "shot")
            node["hasPart"] = [self._clip(shot, by_shot[shot]) for shot in shots]
            node = {term: value for term, value in node.items() if value != []}
        node["version"] = f"{account.edition} edition. {account.as_of}."
        node["comment"] = [{"@type": "Comment", "text": text} for text in account.cautions]
        return node

    def _clip(self, shot: str, works: Iterable[Activity]) -> Node:
        node: Node = {"@type": "Clip", "@id": self._id("shot", shot), "name": shot}
        return {**node, **self._roles(works)}

    # -- who

    def _roles(self, works: Iterable[Activity]) -> Node:
        """Actors and contributors: one role a craft, character and person, crafts as they come."""
        groups: dict[tuple[str, str, str], list[Activity]] = defaultdict(list)
        for work in works:
            groups[work.craft, work.character, work.agent].append(work)
        crafts = {craft: at for at, craft in enumerate(dict.fromkeys(k[0] for k in groups))}
        places = {code: at for at, code in enumerate(self.characters)}
        order = sorted(
            groups, key=lambda k: (crafts[k[0]], places.get(k[1], len(places)), self.place[k[2]])
        )
        found: dict[str, list[Node]] = {"actor": [], "contributor": []}
        for craft, character, agent in order:
            works = groups[craft, character, agent]
            name, kind, term = "contributor", "Role", "description"
            if craft in VOICES:
                name, kind, term = "actor", "PerformanceRole", "characterName"
            role: Node = {"@type": kind, "roleName": works[0].craft_name}
            if character:
                role[term] = self.characters[character]
            role |= {**_when(works), **_codes(craft), name: self.people[agent]}
            found[name].append(role)
        return {name: roles for name, roles in found.items() if roles}


def _when(works: Iterable[Activity]) -> Node:
    """The first and the last day, where these readers see days."""
    days = sorted(day for w in works for day in (w.started_on, w.finished_on) if day is not None)
    return {"startDate": days[0].isoformat(), "endDate": days[-1].isoformat()} if days else {}


def _codes(craft: str) -> Node:
    """What each open list of roles calls the craft; ``none`` where it has nothing like it."""
    found = []
    for of in LISTS.values():
        code = role_code(craft, of)
        value = {"propertyID": of, "value": code.code if code else NONE}
        named = {"name": role_text(craft, of)} if code else {}
        found.append({"@type": "PropertyValue", **value, **named})
    return {"identifier": found}
