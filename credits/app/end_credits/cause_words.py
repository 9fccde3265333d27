"""Causes of changes in words: entries, engagements, names, merges, keys of the plan, the cut."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from credits.billing.compared.changes import told
from credits.billing.compared.plan_changes import PlanChange
from credits.model.facts import Confirmation, EntryNumber
from credits.model.ledger import Ledger
from credits.model.log import LogLine, Verb
from credits.model.words import counted, numbers, some_of

LINE, ROW, FIELD, WORDS = "line", "row", "field", "words"
CUT, PLAN, TITLE = "the cut", "the plan", "the title"
"""The kinds of what may be a cause: each candidate is a tuple that begins with its kind."""

RowKey = tuple[str, tuple[Any, ...]]
"""A list, and the key of a row in it."""

FIELD_WORDS = {
    "starts_on": "first day",
    "ends_on": "last day",
    "wish": "credit wish",
    "name_confirmed_on": "day of confirmation",
}
MOST_KEYS = 4
"""Of more keys of the plan than so many it is said how many they are."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CauseWords:
    """Puts causes into words.

    rows: as they were, and as they are. words: the last word that was given on a spelling since,
    by the code of the person. cut: both versions.
    """

    ledger: Ledger
    lines: Mapping[EntryNumber, LogLine]
    rows: Mapping[RowKey, tuple[Any, Any]]
    words: Mapping[str, Confirmation]
    cut: tuple[int | None, int | None]

    def why(self, undone: Collection[tuple[Any, ...]], person: str) -> tuple[str, ...]:
        """Return the causes, each in words. person: whom the change is about; empty: nobody."""
        own: dict[str, list[tuple[Any, ...]]] = {}
        for key in undone:
            own.setdefault(key[0], []).append(key[1:])
        said = [self._lines([number for (number,) in sorted(own.get(LINE, ()))])]
        said += self._rows(sorted(own.get(ROW, ()), key=repr), person)
        said += [
            self._field(name, key, field, person)
            for name, key, field in sorted(own.get(FIELD, ()), key=repr)
        ]
        said += [self._word(code, person) for (code,) in sorted(own.get(WORDS, ()))]
        said += list(self._plan(own.get(PLAN)))
        if CUT in own:
            was, now = self.cut
            since = "from none" if was is None else f"from version {was}"
            until = "none" if now is None else f"{'version ' if was is None else ''}{now}"
            said.append(f"the cut changed {since} to {until}")
        if TITLE in own:
            said.append("the title in production.toml is another")
        return tuple(dict.fromkeys(filter(None, said)))

    def _lines(self, own: Sequence[EntryNumber]) -> str:
        """``new entries A-18 and A-20; A-3 amended by A-19``."""
        lines = [self.lines[number] for number in own]
        new = [line.number for line in lines if line.verb is Verb.RECORD]
        said = [f"new {'entry' if len(new) == 1 else 'entries'} {numbers(new)}"] if new else []
        for verb, did in ((Verb.AMEND, "amended"), (Verb.VOID, "voided")):
            each = [line for line in lines if line.verb is verb]
            said += [some_of(f"{x.corrects} {did} by {x.number}" for x in each)] if each else []
        return "; ".join(said)

    def _of(self, code: str, person: str) -> str:
        """`` of Ben``, where the change is about somebody else."""
        one = self.ledger.one_person
        if one.get(code, code) == one.get(person, person):
            return ""
        known = self.ledger.people.get(code)
        return f" of {told(known.credit_name) if known is not None else code}"

    def _rows(self, own: Sequence[tuple[Any, ...]], person: str) -> Iterator[str]:
        """Rows that came and went; an engagement that took the place of another is one."""
        gone = {key: self.rows["engagements", key][0] for name, key in own if name == "engagements"}
        for name, key in own:
            old, new = self.rows[name, key]
            before = [
                each
                for each in gone.values()
                if name == "engagements" and old is None and each is not None
                if (each.person, each.department, each.starts_on)
                == (new.person, new.department, new.starts_on)
            ]
            if len(before) == 1:
                was, now = told(before[0].job_title), told(new.job_title)
                yield f"the job title{self._of(new.person, person)} was '{was}' and is '{now}'"
            elif not (name == "engagements" and new is None and self._replaced(old, own)):
                yield self._row(name, key, person)

    def _replaced(self, job: Any, own: Sequence[tuple[Any, ...]]) -> bool:
        """Whether an engagement that went has another in its place, and it alone."""
        place = (job.person, job.department, job.starts_on)
        rows = [self.rows[name, key] for name, key in own if name == "engagements"]
        come = [new for old, new in rows if old is None]
        gone = [old for old, new in rows if new is None]
        there = [[(j.person, j.department, j.starts_on) for j in jobs] for jobs in (come, gone)]
        return place in there[0] and there[1].count(place) == 1

    def _row(self, name: str, key: tuple[Any, ...], person: str) -> str:
        old, new = self.rows[name, key]
        fact = old if new is None else new
        if name == "engagements":
            job = f"engagement as {told(fact.job_title)}{self._of(fact.person, person)}"
            return f"a new {job}" if old is None else f"the {job} was voided"
        what = f"the row {', '.join(map(str, filter(None, key)))} of the list of {name}"
        return f"{what} is new" if old is None else f"{what} was taken out"

    def _field(self, name: str, key: tuple[Any, ...], field: str, person: str) -> str:
        old, new = self.rows[name, key]
        was, now = getattr(old, field), getattr(new, field)
        if name == "people":
            of = self._of(new.code, person)
            if field == "same_as":
                return f"{new.code} is {f'the same person as {now}' if now else 'a person apart'}"
            if field == "wish":
                return f"the credit wish{of} is now {now}"
            word = self.words.get(new.code) if field == "credit_name" else None
            given = word is not None and word.is_right and word.name == now
            when = f", confirmed on {word.confirmed_on}" if given and word is not None else ""
            return f"the {_called(field)}{of} was {_value(was)} and is {_value(now)}{when}"
        if name == "engagements":
            of = f" of the engagement as {told(new.job_title)}{self._of(new.person, person)}"
        else:
            of = f" of {', '.join(map(str, filter(None, key)))} in the list of {name}"
        return f"the {_called(field)}{of} was {_value(was)} and is {_value(now)}"

    def _word(self, code: str, person: str) -> str:
        word, of = self.words[code], self._of(code, person)
        if word.is_right:
            return f"{f'the name{of} was ' if of else ''}confirmed on {word.confirmed_on}"
        return f"the spelling '{told(word.name)}' was said to be wrong on {word.confirmed_on}"

    def _plan(self, own: Sequence[tuple[PlanChange, ...]] | None) -> Iterator[str]:
        if own is None:
            return
        changes = [key[0] for key in own if key]
        if not changes:
            yield "the plan changed"
        elif len(changes) > MOST_KEYS:
            yield f"the plan changed: {counted(len(changes), 'key')} and sections"
        else:
            # The whole plan first, then its sections by their places.
            changes.sort(key=lambda one: (one.at is not None, one.at or 0, one.words))
            yield from (change.words for change in changes)


def _called(field: str) -> str:
    return FIELD_WORDS.get(field, field.replace("_", " "))


def _value(value: Any) -> str:
    return "empty" if value is None or value == "" else f"'{told(str(value))}'"
