"""The account as W3C PROV: PROV-JSON and PROV-N, by the library ``prov``.

A person is an Agent, a piece of work an Activity, the film, characters, puppets, parts and shots
are Entities. Who did it: wasAssociatedWith, with prov:role. What was in hand (the puppet in a shot,
what is mended): used. What was built, and the shot that was animated: wasGeneratedBy. A part on a
puppet, a copy from its moulds, a replacement in a shot: wasDerivedFrom.

Days are attributes of their own: PROV's start and end are moments, and the log knows days.
"""

from __future__ import annotations

import json
from datetime import date
from typing import TYPE_CHECKING, Any

from credits.compute.provenance import (
    ANONYMOUS,
    UNCREDITED,
    Account,
    AgentSaid,
    DerivedSaid,
    Thing,
    ThingSaid,
    WorkSaid,
)
from credits.exchange.identifiers import TERMS, local_name, namespace
from credits.exchange.role_codes import EBU, FIAF, MARC, MARC_NAMESPACE, role_code, role_text

if TYPE_CHECKING:
    from prov.model import Literal, ProvDocument, QualifiedName

    Attributes = list[tuple[Any, Any]]

KINDS = ("film", "character", "puppet", "part", "shot", "person", "work")
LISTS = (("marc", MARC), ("fiaf", FIAF), ("ebu", EBU))


def prov_document(account: Account) -> ProvDocument:
    """The account as a PROV document. Same account, same records in the same order."""
    return _Writer(account).document


def prov_json(account: Account) -> str:
    """The account as PROV-JSON, a record a line."""
    from prov.serializers.provjson import encode_json_document

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
    """The account as PROV-N, for people to read."""
    return f"{prov_document(account).get_provn()}\n"


def _day(day: date) -> Literal:
    from prov.constants import XSD
    from prov.model import Literal

    return Literal(day.isoformat(), XSD["date"])


class _Writer:
    def __init__(self, account: Account) -> None:
        from prov.constants import PROV_LABEL, PROV_ROLE, PROV_TYPE
        from prov.model import ProvDocument

        self._label, self._role, self._type = PROV_LABEL, PROV_ROLE, PROV_TYPE
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
            (self._terms[term], _day(value) if isinstance(value, date) else value)
            for term, value in values.items()
            if value not in ("", None)
        ]

    def _roles(self, work: WorkSaid) -> Attributes:
        """Our own name of the craft, the MARC term where there is one, and what each list has."""
        roles: Attributes = [(self._role, work.craft_name)]
        code = role_code(work.craft, MARC)
        if code is not None and not code.near:
            roles.append((self._role, self._marc[code.code]))
        texts = {name: role_text(work.craft, of) for name, of in LISTS}
        return [*roles, *self._said(craft=work.craft, **texts)]

    # -- records

    def _film(self, account: Account) -> None:
        about: Attributes = [(self._label, account.title), (self._type, self._terms["film"])]
        about += self._said(edition=account.edition, as_of=account.as_of)
        about += [(self._terms["caution"], caution) for caution in account.cautions]
        if account.about[0] != "film":
            about.append((self._terms["account_of"], self._name(account.about)))
        self.document.entity(self._name(("film", account.code)), about)
        self._film_name = self._name(("film", account.code))

    def _agent(self, agent: AgentSaid) -> None:
        from prov.constants import PROV

        about: Attributes = [(self._type, PROV["Person"]), (self._label, agent.name)]
        self.document.agent(self._agent_name(agent.key), [*about, *self._said(isni=agent.isni)])

    def _thing(self, thing: ThingSaid) -> None:
        kind = thing.thing[0]
        about: Attributes = [(self._type, self._terms[kind]), (self._label, thing.name)]
        if thing.character:
            about.append((self._terms["character"], self._name(("character", thing.character))))
        about += self._said(frames=thing.frames or None)
        self.document.entity(self._name(thing.thing), about)
        if kind == "shot":
            self.document.membership(self._film_name, self._name(thing.thing))

    def _work(self, work: WorkSaid) -> None:
        document, name = self.document, self._name(("work", work.key))
        about: Attributes = [(self._label, work.craft_name)]
        for kind, code in (("character", work.character), ("shot", work.shot)):
            if code:
                about.append((self._terms[kind], self._name((kind, code))))
        about += self._said(
            take=work.take,
            frames=work.frames,
            sequence=work.sequence,
            started_on=work.started_on,
            finished_on=work.finished_on,
            stage=work.stage,
            note=work.note,
            minutes=work.minutes,
            wait_minutes=work.wait_minutes,
        )
        document.activity(name, other_attributes=about)
        document.association(name, self._agent_name(work.agent), other_attributes=self._roles(work))
        for thing in work.used:
            document.usage(name, self._name(thing))
        for thing in work.made:
            document.generation(self._name(thing), name)

    def _derived(self, derived: DerivedSaid) -> None:
        about: Attributes = [(self._type, self._terms[derived.how])]
        about += self._said(
            from_on=derived.from_on,
            to_on=derived.to_on,
            take=derived.take,
            frames=derived.frames,
        )
        self.document.derivation(
            self._name(derived.thing),
            self._name(derived.of),
            activity=self._name(("work", derived.work)) if derived.work else None,
            other_attributes=about,
        )
