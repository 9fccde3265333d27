"""The account as W3C PROV, and as JSON-LD in the words of schema.org."""

from __future__ import annotations

import json
import re
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from datetime import date
from typing import Any, NamedTuple
from urllib.parse import quote

from prov.constants import PROV, PROV_LABEL, PROV_ROLE, PROV_TYPE, XSD
from prov.model import Literal, ProvDocument, QualifiedName
from prov.serializers.provjson import encode_json_document

from credits.formats.standards.account import (
    ANONYMOUS,
    PERSON,
    UNCREDITED,
    Account,
    Activity,
    Agent,
    Credited,
    Derivation,
    Entity,
    Thing,
)

TERMS = "urn:x-performance-credits:terms:"
_NOT_EVERYWHERE = re.compile(r"[.~]|^-")


def local_name(code: str) -> str:
    """Write a code of any script as it may stand in a URN, a JSON-LD id and a PROV-N name."""
    plain = quote(code, safe="", errors="surrogatepass")
    return _NOT_EVERYWHERE.sub(lambda sign: f"%{ord(sign[0]):02X}", plain)


def namespace(production: str, kind: str) -> str:
    """Return the begin of the names of a kind of thing of a production."""
    return f"urn:x-performance-credits:{local_name(production)}:{kind}:"


def urn(production: str, kind: str, code: str) -> str:
    """Return ``urn:x-performance-credits:small:puppet:wick-1``."""
    return namespace(production, kind) + local_name(code)


MARC, FIAF, EBU = "MARC relators", "FIAF Glossary of Filmographic Terms", "EBU role codes"
MARC_NAMESPACE = "http://id.loc.gov/vocabulary/relators/"
NONE = "none"

VOICES = frozenset({"voice", "singing"})


class RoleCode(NamedTuple):
    """One term of a list. ``near``: it is the nearest there is, not the same."""

    code: str
    term: str
    near: bool = False


_Codes = Mapping[str, RoleCode]

_ANIMATOR: _Codes = {
    MARC: RoleCode("anm", "animator"),
    FIAF: RoleCode("B.13.11", "Animator"),
    EBU: RoleCode("4.19", "animator"),
}
_NEAR_ANIMATOR: _Codes = {of: code._replace(near=True) for of, code in _ANIMATOR.items()}
_MODEL_MAKER: _Codes = {
    FIAF: RoleCode("B.13.17", "ModelMaker", near=True),
    EBU: RoleCode("4.36", "model maker", near=True),
}

ROLE_CODES: Mapping[str, _Codes] = {
    "voice": {MARC: RoleCode("vac", "voice actor"), FIAF: RoleCode("B.7.7", "Voices")},
    "singing": {MARC: RoleCode("sng", "singer"), FIAF: RoleCode("B.11.8", "SingingVoice")},
    "animation": _ANIMATOR,
    "animation-assist": _NEAR_ANIMATOR,
    "rigging": {FIAF: RoleCode("B.8.3", "MechanicalEffects", near=True)},
    "design": {FIAF: RoleCode("B.13.14", "CharacterDesigner")},
    "maquette": {MARC: RoleCode("scl", "sculptor"), **_MODEL_MAKER},
    "sculpt": {MARC: RoleCode("scl", "sculptor"), **_MODEL_MAKER},
    "armature": _MODEL_MAKER,
    "mould": {EBU: RoleCode("13.2.9", "mold maker")},
    "casting": {MARC: RoleCode("cas", "caster")},
    "faces": _MODEL_MAKER,
    "fabrication": _MODEL_MAKER,
    "costume": {
        MARC: RoleCode("cst", "costume designer", near=True),
        FIAF: RoleCode("B.6.17", "CostumeMaker"),
    },
    "hair": {FIAF: RoleCode("B.6.20", "HairStylist", near=True)},
}
LISTS = {"marc": MARC, "fiaf": FIAF, "ebu": EBU}


def role_code(craft: str, of: str) -> RoleCode | None:
    """Find what a list calls a craft; None where it has nothing like it."""
    return ROLE_CODES.get(craft, {}).get(of)


def role_text(craft: str, of: str) -> str:
    """Return ``anm animator`` or ``near B.13.17 ModelMaker``; ``none`` where it has nothing."""
    code = role_code(craft, of)
    return f"{'near ' if code.near else ''}{code.code} {code.term}" if code else NONE


Attributes = list[tuple[Any, Any]]

KINDS = ("film", "character", "puppet", "part", "shot", "person", "work")
# Of lines of the credits that name nobody of the log; they are declared where there are any.
OTHER_AGENTS = ("named", "company", "animal", "other")
# What PROV calls an agent of a kind; it knows no animals.
AGENTS = {PERSON: "Person", "named": "Person", "company": "Organization"}
# The fields whose values stand as terms of our own.
_WORK_TERMS = ("take", "frames", "sequence", "started_on", "finished_on", "stage", "note",
               "minutes", "wait_minutes")  # fmt: skip
_DERIVED_TERMS = ("from_on", "to_on", "take", "frames")


def prov_document(account: Account) -> ProvDocument:
    """Return the account as a PROV document. Same account, same records in the same order."""
    return _ProvWriter(account).document


def prov_json(account: Account) -> str:
    """Return the account as PROV-JSON, a record a line."""
    kinds = encode_json_document(prov_document(account))
    sections = (
        f"{_json(kind)}: {{\n"
        + ",\n".join(f" {_json(name)}: {_json(record)}" for name, record in records.items())
        + "\n}"
        for kind, records in kinds.items()
    )
    return "{\n" + ",\n".join(sections) + "\n}\n"


def _json(value: object) -> str:
    # Whole documents go through the json module's slow encoder, records through its quick one.
    return json.dumps(value, ensure_ascii=False)


def prov_n(account: Account) -> str:
    """Return the account as PROV-N, for people to read."""
    return f"{prov_document(account).get_provn()}\n"


class _ProvWriter:
    def __init__(self, account: Account) -> None:
        self.document = ProvDocument()
        add = self.document.add_namespace
        self._terms = add("terms", TERMS)
        self._marc = add("marcrel", MARC_NAMESPACE)
        others = {agent.kind for agent in account.agents}
        kinds = (*KINDS, *(kind for kind in OTHER_AGENTS if kind in others))
        self._kinds = {kind: add(kind, namespace(account.code, kind)) for kind in kinds}
        self._film(account)
        for agent in account.agents:
            self._agent(agent)
        for thing in account.things:
            self._thing(thing)
        for work in account.works:
            self._work(work)
        for derived in account.derived:
            self._derived(derived)
        for credited in account.credited:
            self._credited(credited)

    # -- names and attributes

    def _name(self, thing: Thing) -> QualifiedName:
        kind, code = thing
        return self._kinds[kind][local_name(code)]

    def _agent_name(self, key: str, kind: str = PERSON) -> QualifiedName:
        return self._terms[UNCREDITED] if key == ANONYMOUS else self._name((kind, key))

    def _said(self, **values: object) -> Attributes:
        """Terms of our own with the values that are given; days as xsd:date."""
        return [
            (
                self._terms[term],
                Literal(value.isoformat(), XSD["date"]) if isinstance(value, date) else value,
            )
            for term, value in values.items()
            if value not in ("", None)
        ]

    def _roles(self, work: Activity) -> Attributes:
        """Our own name of the craft, the MARC term where there is one, and what each list has."""
        roles: Attributes = [(PROV_ROLE, work.craft_name)]
        code = role_code(work.craft, MARC)
        if code is not None and not code.near:
            roles.append((PROV_ROLE, self._marc[code.code]))
        texts = {name: role_text(work.craft, of) for name, of in LISTS.items()}
        return [*roles, *self._said(craft=work.craft, **texts)]

    # -- records

    def _film(self, account: Account) -> None:
        about: Attributes = [(PROV_LABEL, account.title), (PROV_TYPE, self._terms["film"])]
        about += self._said(edition=account.edition, as_of=account.as_of)
        about += [(self._terms["caution"], caution) for caution in account.cautions]
        if account.about[0] != "film":
            about.append((self._terms["account_of"], self._name(account.about)))
        self._film_name = self._name(("film", account.code))
        self.document.entity(self._film_name, about)

    def _agent(self, agent: Agent) -> None:
        of = AGENTS.get(agent.kind)
        about: Attributes = [
            (PROV_TYPE, PROV[of] if of is not None else self._terms[agent.kind]),
            (PROV_LABEL, agent.name),
        ]
        name = self._agent_name(agent.key, agent.kind)
        self.document.agent(name, [*about, *self._said(isni=agent.isni)])

    def _thing(self, thing: Entity) -> None:
        kind = thing.thing[0]
        about: Attributes = [(PROV_TYPE, self._terms[kind]), (PROV_LABEL, thing.name)]
        if thing.character:
            about.append((self._terms["character"], self._name(("character", thing.character))))
        about += self._said(frames=thing.frames or None)
        self.document.entity(self._name(thing.thing), about)
        if kind == "shot":
            self.document.membership(self._film_name, self._name(thing.thing))

    def _work(self, work: Activity) -> None:
        document, name = self.document, self._name(("work", work.key))
        about: Attributes = [(PROV_LABEL, work.craft_name)]
        for kind, code in (("character", work.character), ("shot", work.shot)):
            if code:
                about.append((self._terms[kind], self._name((kind, code))))
        said = {term: getattr(work, term) for term in _WORK_TERMS}
        about += self._said(**said | {"note": work.note or work.private_note})
        document.activity(name, other_attributes=about)
        document.association(name, self._agent_name(work.agent), other_attributes=self._roles(work))
        for thing in work.used:
            document.usage(name, self._name(thing))
        # W3C PROV-CONSTRAINTS (30 April 2013), generation-generation-ordering: two generations of
        # one thing are one moment. A thing that work of several days made has that of the first;
        # the rest is influence, which PROV-DM (5.3.5) keeps for what has no nearer word.
        for thing in work.made:
            if thing in work.began:
                document.generation(self._name(thing), name)
            else:
                document.influence(self._name(thing), name)

    def _credited(self, one: Credited) -> None:
        """The film is attributed to whoever prints: by the role, else by the heading."""
        about: Attributes = [(PROV_ROLE, one.role or one.heading)]
        about += self._said(heading=one.heading)
        name = self._agent_name(one.agent, one.kind)
        self.document.attribution(self._film_name, name, other_attributes=about)

    def _derived(self, derived: Derivation) -> None:
        about: Attributes = [(PROV_TYPE, self._terms[derived.how])]
        about += self._said(**{term: getattr(derived, term) for term in _DERIVED_TERMS})
        work = self._name(("work", derived.work)) if derived.work else None
        if work is not None and not derived.began:
            # An activity named in a derivation has generated the thing (PROV-CONSTRAINTS,
            # derivation-generation-use-inference): later work is named by a term of our own.
            about.append((self._terms["work"], work))
            work = None
        self.document.derivation(
            self._name(derived.thing),
            self._name(derived.of),
            activity=work,
            other_attributes=about,
        )


# --- JSON-LD: the film is a Movie, a shot a Clip. Voices are its ``actor``s, by a PerformanceRole
# with the character's name; everybody else is a ``contributor``, by a Role with our own craft name.
# Who prints without work in the log is one by the role that prints, or the heading.

Node = dict[str, Any]


def jsonld(account: Account) -> str:
    """Return the account as a JSON-LD document. Same account, same text."""
    node = {"@context": "https://schema.org", **_JsonLdWriter(account).top()}
    return json.dumps(node, ensure_ascii=False, indent=1) + "\n"


class _JsonLdWriter:
    def __init__(self, account: Account) -> None:
        self.account = account
        self.agents = {(each.kind, each.key): self._agent(each) for each in account.agents}
        self.people = {key: node for (kind, key), node in self.agents.items() if kind == PERSON}
        self.place = {agent.key: at for at, agent in enumerate(account.agents)}
        self.characters = {
            thing.thing[1]: thing.name for thing in account.things if thing.thing[0] == "character"
        }

    def _id(self, kind: str, code: str) -> str:
        return urn(self.account.code, kind, code)

    def _agent(self, agent: Agent) -> Node:
        node: Node = {"@type": AGENTS.get(agent.kind, "Thing")}
        if agent.key != ANONYMOUS:
            node["@id"] = self._id(agent.kind, agent.key)
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
            roles = self._roles(account.works)
            roles["contributor"] = [*roles.get("contributor", ()), *self._credited()]
            node = {**movie, "character": cast, **roles}
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

    def _credited(self) -> Iterator[Node]:
        for one in self.account.credited:
            if one.kind in AGENTS:
                role: Node = {"@type": "Role", "roleName": one.role or one.heading}
                if one.role and one.heading:
                    role["description"] = one.heading
                yield {**role, "contributor": self.agents[one.kind, one.agent]}

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
