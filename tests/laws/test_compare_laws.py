"""Laws of comparing: the edits make the one compilation the other, and are none where all that
leaves the house is the same."""

from __future__ import annotations

import json

from hypothesis import given, settings

from credits.billing.compared.changes import changes_told, told
from credits.billing.compared.edits import EditKind, apply, edits_between, printed_alone
from credits.billing.credits import Credits
from credits.billing.proofs import credits_to_json
from credits.billing.setting.breaking import EvenRuler
from credits.editions import Edition
from credits.formats.deliver.pdf import proof_data
from credits.formats.deliver.plain import Delivery, credits_csv, credits_json, credits_text
from tests.drawn import drawn
from tests.laws.compilations import ONE_PERSON, pairs

MANY = settings(max_examples=drawn(200), deadline=None)


def exports(credits: Credits) -> tuple[bytes, ...]:
    """Everything that is handed out, in the edition that shows most, without the reasons."""
    made = Delivery(title=credits.title, credits=printed_alone(credits), edition=Edition.OFFICE)
    given = json.dumps(proof_data(made, EvenRuler()), ensure_ascii=False)
    frozen = credits_to_json(made.credits)
    plain = (credits_text(made), credits_csv(made), credits_json(made))
    return (*plain, *(text.encode("utf-8", "replace") for text in (given, frozen)))


@MANY
@given(both=pairs)
def test_the_edits_make_the_one_compilation_the_other(both: tuple[Credits, Credits]) -> None:
    before, after = map(printed_alone, both)
    for one in ({}, ONE_PERSON):
        assert apply(edits_between(before, after, one), before) == after


@MANY
@given(both=pairs)
def test_there_are_no_edits_exactly_where_the_exports_are_the_same_bytes(
    both: tuple[Credits, Credits],
) -> None:
    before, after = both
    assert (edits_between(before, after, ONE_PERSON) == ()) == (exports(before) == exports(after))


@MANY
@given(both=pairs)
def test_every_edit_is_told_once_and_what_is_set_with_its_old_and_new_value(
    both: tuple[Credits, Credits],
) -> None:
    before, after = both
    edits = edits_between(before, after, ONE_PERSON)
    changes = changes_told(edits, before, after, ONE_PERSON)
    told_edits = [edit for change in changes for edit in change.edits]
    assert sorted(map(repr, told_edits)) == sorted(map(repr, edits))
    for change in changes:
        assert change.what.endswith(".")
        for edit in change.edits:
            if edit.kind is EditKind.SET and edit.field in ("name", "heading", "note"):
                for value in (edit.old, edit.new):
                    assert (told(value) or "none") in change.what


@MANY
@given(both=pairs)
def test_what_is_told_does_not_depend_on_the_reasons(both: tuple[Credits, Credits]) -> None:
    before, after = both
    edits = edits_between(before, after, ONE_PERSON)
    assert edits == edits_between(printed_alone(before), printed_alone(after), ONE_PERSON)
