"""Why credits are not as in a proof: what was written since, and what each of it makes different.

Exact where it can be: the credits are compiled as if the log, the plan or the cut had stayed as it
was then, and what differs from that for a person is a cause of that person's change.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from credits.compute.check_words import listed, numbers, one_line
from credits.compute.credit_lines import Credits
from credits.compute.proof_changes import ChangeKind, CreditChange
from credits.model.facts import EntryNumber
from credits.model.ledger import Ledger
from credits.model.written import Change, Verb, Written, WrittenLog
from credits.text import fold_words

# Changes of these tables are told of the person whose they are.
_OWN_TABLES = frozenset({"people", "engagements"})
_PLAIN_COLUMNS = {
    "credit_name": "the credit name",
    "sort_name": "the sort name",
    "department": "the department",
    "job_title": "the job title",
    "guaranteed_heading": "the guaranteed heading",
    "billing_number": "the billing number",
    "starts_on": "the first day",
    "ends_on": "the last day",
}


@dataclass(frozen=True, slots=True)
class AsIf:
    """The credits as they would be if one thing had stayed as it was at the proof.

    ``cause``: the thing, in words. ``entries``: it is the lines of the log. ``credits`` None: they
    cannot be compiled that way any more, and the cause is named wherever it may be one.
    """

    cause: str
    credits: Credits | None
    entries: bool = False


@dataclass(frozen=True, slots=True)
class Since:
    """What was written since a proof: lines by the person they are about, changes of tables."""

    lines: tuple[Written, ...]
    lines_of: Mapping[str, tuple[Written, ...]]
    rows_of: Mapping[str, tuple[Change, ...]]
    other_tables: tuple[str, ...]
    as_if: tuple[AsIf, ...] = ()


def since(
    written: WrittenLog,
    ledger: Ledger,
    log_lines: int,
    changes: Sequence[Change],
    as_if: tuple[AsIf, ...] = (),
) -> Since:
    """What was written behind the first ``log_lines`` lines, and the changes of tables since."""
    later = written.lines[log_lines:]
    by_number = {line.number: line for line in written.lines} if later else {}
    lines_of: dict[str, dict[EntryNumber, Written]] = defaultdict(dict)
    for line in later:
        for person in _about(line, by_number, ledger):
            lines_of[person][line.number] = line
    rows_of: dict[str, list[Change]] = defaultdict(list)
    others: dict[str, None] = {}
    for change in changes:
        if change.table in _OWN_TABLES:
            rows_of[ledger.one_person.get(change.key, change.key)].append(change)
        else:
            others[change.table] = None
    return Since(
        later,
        {person: tuple(own.values()) for person, own in lines_of.items()},
        {person: tuple(own) for person, own in rows_of.items()},
        tuple(sorted(others)),
        as_if,
    )


def _about(line: Written, by_number: Mapping[EntryNumber, Written], ledger: Ledger) -> set[str]:
    """Whose work the line says, or said before it was corrected."""
    people: set[str] = set()
    at: Written | None = line
    seen: set[EntryNumber] = set()
    while at is not None and at.number not in seen:
        seen.add(at.number)
        if at.work is not None:
            people.add(ledger.one_person.get(at.work.person, at.work.person))
            if at is not line:
                break
        at = by_number.get(at.corrects) if at.corrects is not None else None
    return people


def with_causes(change: CreditChange, now: Credits, found: Since, ledger: Ledger) -> CreditChange:
    """The change with its causes: the person's own rows, the log, the plan, the cut."""
    own = found.lines_of.get(change.person, ())
    why = list(_rows(change, found, ledger))
    entries: tuple[EntryNumber, ...] = ()
    for as_if in found.as_if:
        if change.kind is ChangeKind.RESPELLED or not _differs(change, now, as_if.credits):
            continue
        if not as_if.entries:
            why.append(as_if.cause)
        elif own:
            why.append(_lines_words(own))
            entries = tuple(line.number for line in own)
        else:
            why.append(f"entries of others: {numbers([line.number for line in found.lines])}")
    if not why:
        why = _whatever(change, found)
    return CreditChange(
        change.kind, change.person, change.name, change.heading, change.what, tuple(why), entries
    )


def _whatever(change: CreditChange, found: Since) -> list[str]:
    """What may be the cause where no one thing alone is."""
    why = [f"the {listed(found.other_tables)} changed"] if found.other_tables else []
    if change.kind is not ChangeKind.RESPELLED:
        why += [as_if.cause for as_if in found.as_if]
    return why or ["credits are compiled in another way than when the proof was made"]


def _differs(change: CreditChange, now: Credits, other: Credits | None) -> bool:
    """Whether the change, or a part of it, would not be there in the other credits."""
    if other is None:
        return True
    if change.kind is ChangeKind.ORDER:
        return _sequence(now, change.heading) != _sequence(other, change.heading)
    if not change.person:
        return _sections(now) != _sections(other)
    return _standing(now, change.person) != _standing(other, change.person)


def _sequence(credits: Credits, heading: str) -> list[str]:
    key = fold_words(heading)
    return [x.person for s in credits.sections if fold_words(s.heading) == key for x in s.lines]


def _sections(credits: Credits) -> list[tuple[object, ...]]:
    return [(s.heading, s.layout, s.columns, s.text) for s in credits.sections]


def _standing(credits: Credits, person: str) -> tuple[object, ...]:
    lines = [(fold_words(section.heading), line.role) for section, line in credits.lines_of(person)]
    held = [
        (h.heading, h.reason) for h in (*credits.held, *credits.held_lines) if h.person == person
    ]
    return (lines, held)


def _lines_words(lines: Sequence[Written]) -> str:
    """``new entries A-18 and A-20; A-3 amended by A-19``."""
    said = []
    new = [line.number for line in lines if line.verb is Verb.RECORD]
    if new:
        said.append(f"new {'entry' if len(new) == 1 else 'entries'} {numbers(new)}")
    for verb, did in ((Verb.AMEND, "amended"), (Verb.VOID, "voided")):
        own = [f"{line.corrects} {did} by {line.number}" for line in lines if line.verb is verb]
        if own:
            said.append(listed(own))
    return "; ".join(said)


def _rows(change: CreditChange, found: Since, ledger: Ledger) -> list[str]:
    """What changed in the person's own rows, as far as it can make this change."""
    if not change.person:
        return []
    why: dict[str, None] = {}
    for row in found.rows_of.get(change.person, ()):
        for words in _row_words(row, change.kind):
            why[words] = None
    word = ledger.confirmation(change.person)
    if change.kind is ChangeKind.RESPELLED and word is not None and ledger.confirmed(change.person):
        why[f"confirmed on {word.confirmed_on}"] = None
    return list(why)


def _row_words(row: Change, kind: ChangeKind) -> list[str]:
    spelling = kind in (ChangeKind.RESPELLED, ChangeKind.ORDER)
    if row.table == "engagements":
        if spelling and kind is not ChangeKind.ORDER:
            return []
        if row.verb == "insert":
            job = row.columns.get("job_title", (None, ""))[1]
            return [f"a new engagement as {one_line(str(job))}"]
        return [_column_words(column, *values) for column, values in row.columns.items()]
    if row.verb == "insert":
        return []
    said = []
    for column, (old, new) in row.columns.items():
        if column in ("credit_name", "sort_name"):
            if spelling:
                said.append(_column_words(column, old, new))
        elif kind is ChangeKind.RESPELLED:
            continue
        elif column == "credit_wish":
            said.append(f"the credit wish is now {new}")
        elif column == "same_as":
            said.append(f"{row.key} is {f'the same person as {new}' if new else 'a person apart'}")
    return said


def _column_words(column: str, old: object, new: object) -> str:
    name = _PLAIN_COLUMNS.get(column, column)
    return f"{name} was {_value(old)} and is {_value(new)}"


def _value(value: object) -> str:
    return "empty" if value is None else f"'{one_line(str(value))}'"
