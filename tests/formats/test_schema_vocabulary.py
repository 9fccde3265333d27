"""Every JSON-LD document against schema.org's own vocabulary.

Source: release 12.0 of schema.org, in the source distribution of ``schemaorg``.
"""

from __future__ import annotations

import copy
import json
from collections.abc import Callable
from typing import Any

import pytest

from credits.editions import Edition
from credits.formats.standards.account import Thing
from credits.formats.standards.prov import jsonld
from tests.formats.accounts import FILM, account, character, shot
from tests.formats.schema_vocabulary import vocabulary

WICK, SHOT = character("wick"), shot("canary-shot")  # the public has no shots
DOCUMENTS = [(each, scope) for each in Edition for scope in (FILM, WICK)]
DOCUMENTS += [(Edition.CREW, SHOT), (Edition.OFFICE, SHOT)]


@pytest.mark.parametrize(("edition", "scope"), DOCUMENTS)
def test_the_vocabulary_knows_every_type_property_and_value(edition: Edition, scope: Thing) -> None:
    assert vocabulary().faults(json.loads(jsonld(account(edition, scope)))) == []


def no_such_type(movie: dict[str, Any]) -> None:
    movie["character"][0]["@type"] = "Puppet"


def no_such_property(movie: dict[str, Any]) -> None:
    movie["animator"] = "Ana Lind"


def property_of_another_type(movie: dict[str, Any]) -> None:
    movie["actor"][0]["actor"]["roleName"] = "Voice"


def value_of_another_type(movie: dict[str, Any]) -> None:
    movie["character"] = [{"@type": "Movie", "name": "Wick"}]


def no_date(movie: dict[str, Any]) -> None:
    movie["actor"][0]["startDate"] = "1 June 2025"


def role_without_its_person(movie: dict[str, Any]) -> None:
    del movie["contributor"][0]["contributor"]


@pytest.mark.parametrize(
    "spoil",
    [
        no_such_type,
        no_such_property,
        property_of_another_type,
        value_of_another_type,
        no_date,
        role_without_its_person,
    ],
)
def test_what_the_vocabulary_does_not_know_is_found(
    spoil: Callable[[dict[str, Any]], None],
) -> None:
    movie = json.loads(jsonld(account(Edition.OFFICE, FILM)))
    spoiled = copy.deepcopy(movie)
    spoil(spoiled)
    assert vocabulary().faults(spoiled) != []
