"""W3C PROV."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from datetime import date
from typing import Any, NamedTuple
from urllib.parse import quote

from prov.constants import PROV, PROV_LABEL, PROV_ROLE, PROV_TYPE, XSD
from prov.model import Literal, ProvDocument, QualifiedName
from prov.serializers.provjson import encode_json_document

from credits.formats.standards.account import (
    ANONYMOUS,
    UNCREDITED,
    Account,
    Activity,
    Agent,
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
        self._kinds = {kind: add(kind, namespace(account.code, kind)) for kind in KINDS}
        self._film(account)
        for agent in account.agents:
            self._agent(agent)
        for thing in account.things:
            self._thing(thing)
        for work in account.works:
            self._work(work)
        for derived in account.derived:
            self._derived(derived)

    # -- names and attributes

    def _name(self, thing: Thing) -> QualifiedName:
        kind, code = thing
        return self._kinds[kind][local_name(code)]

    def _agent_name(self, key: str) -> QualifiedName:
        return self._terms[UNCREDITED] if key == ANONYMOUS else self._name(("person", key))

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
        about: Attributes = [(PROV_TYPE, PROV["Person"]), (PROV_LABEL, agent.name)]
        self.document.agent(self._agent_name(agent.key), [*about, *self._said(isni=agent.isni)])

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
        for thing in work.made:
            document.generation(self._name(thing), name)

    def _derived(self, derived: Derivation) -> None:
        about: Attributes = [(PROV_TYPE, self._terms[derived.how])]
        about += self._said(**{term: getattr(derived, term) for term in _DERIVED_TERMS})
        self.document.derivation(
            self._name(derived.thing),
            self._name(derived.of),
            activity=self._name(("work", derived.work)) if derived.work else None,
            other_attributes=about,
        )
