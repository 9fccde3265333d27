"""A returned confirmation sheet: each answered row becomes a word on how a name is spelled.

``confirmed`` yes: the ``credit_name`` of the row is right (that of the log where the sheet has no
such column). A ``correction``: the name is spelled so, and changes. ``confirmed`` no without a
correction: it is not right. A row with none of these was not answered. A word that the log has
already is not written again.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date

from credits.exchange.codes import CodeBooks
from credits.exchange.rows import Rows
from credits.model.batch import NewConfirmation, TableCount
from credits.model.facts import Confirmation, Person
from credits.model.replay import one_person
from credits.model.written import WrittenLog


@dataclass(slots=True)
class ConfirmationPlan:
    """The words to write, the people whose names they change, the count of answered rows."""

    words: list[NewConfirmation] = field(default_factory=list)
    people: dict[str, Person] = field(default_factory=dict)
    count: TableCount = field(default_factory=TableCount)


@dataclass(frozen=True, slots=True)
class _Answer:
    """One answered row. ``corrects``: the name changes to ``name``."""

    rows: Rows
    index: int
    person: str
    name: str
    is_right: bool
    corrects: bool
    day: date | None

    @property
    def said(self) -> tuple[str, bool, date | None]:
        return self.name, self.is_right, self.day


def plan_confirmations(
    sheets: Sequence[Rows],
    written: WrittenLog,
    people: Mapping[str, Person],
    given_names: Sequence[Rows],
    books: CodeBooks,
) -> ConfirmationPlan:
    """What the sheets say. ``people``: as they will stand by the other tables of this load;
    ``given_names``: the people tables of this load. Problems go to the sheets' findings."""
    ends = one_person(people.values())
    spelled = _spelled(given_names, ends, books)
    plan = ConfirmationPlan()
    seen: dict[str, _Answer] = {}
    same = 0
    for rows in sheets:
        for answer in _answers(rows, ends, people, books) if rows.usable else ():
            before = seen.setdefault(answer.person, answer)
            if before is not answer:
                same += _again(before, answer)
            elif answer.corrects and spelled.get(answer.person, answer.name) != answer.name:
                what = f"the people table of this load spells it '{spelled[answer.person]}'"
                answer.rows.problem(
                    answer.index, "correction", answer.name, what, "Correct it there too."
                )
            elif _is_there(answer, written.confirmations, ends):
                same += 1
            else:
                _take(answer, people[answer.person], _last_day(answer, written, ends), plan)
    plan.count = TableCount(new=len(plan.words), same=same)
    return plan


def _spelled(sheets: Sequence[Rows], ends: Mapping[str, str], books: CodeBooks) -> dict[str, str]:
    """How the people tables of this load spell each name."""
    spelled: dict[str, str] = {}
    for rows in sheets:
        if rows.usable and rows.has("credit_name"):
            codes = rows.column(rows.table.column("person"), books)
            names = rows.column(rows.table.column("credit_name"), books)
            for code, name in zip(codes, names, strict=True):
                if isinstance(code, str) and isinstance(name, str) and ends.get(code) == code:
                    spelled[code] = name
    return spelled


def _answers(
    rows: Rows, ends: Mapping[str, str], people: Mapping[str, Person], books: CodeBooks
) -> Iterator[_Answer]:
    """The answered rows; what contradicts itself is a finding."""
    columns = {column.name: rows.column(column, books) for column in rows.table.columns}
    for index in range(len(rows)):
        values = {name: column[index] for name, column in columns.items()}
        if rows.bad_in(index) & {*columns} - {"headings"} or values["person"] is None:
            continue
        code = ends.get(str(values["person"]), str(values["person"]))
        person = people.get(code)
        confirmed, correction = values["confirmed"], values["correction"]
        if person is None or (confirmed is None and correction is None):
            continue
        name = str(values["credit_name"] or person.credit_name)
        day = values["confirmed_on"]
        on = day if isinstance(day, date) else None
        if correction is not None and confirmed is True and correction != name:
            what = "says that the name is right, and corrects it"
            hint = "Write no, or take the correction out."
            rows.problem(index, "confirmed", "yes", what, hint)
        elif correction is not None:
            spelling = str(correction)
            corrects = spelling != person.credit_name and spelling != name
            yield _Answer(rows, index, code, spelling, True, corrects, on)
        else:
            yield _Answer(rows, index, code, name, confirmed is True, False, on)


def _again(before: _Answer, answer: _Answer) -> int:
    """A second row about one person: the same word, or a contradiction."""
    if before.said == answer.said:
        return 1
    place = before.rows.sheet.place(before.index)
    what = f"{place} says otherwise of the same person"
    answer.rows.problem(answer.index, "person", answer.person, what, "Keep one of the two rows.")
    return 0


def _is_there(answer: _Answer, words: Sequence[Confirmation], ends: Mapping[str, str]) -> bool:
    """Whether the log has the word. One without a day is there if it was ever given: what came
    later is not undone by loading an old sheet again."""
    return any(
        ends.get(word.person, word.person) == answer.person
        and (word.name, word.is_right) == (answer.name, answer.is_right)
        and answer.day in (None, word.confirmed_on)
        for word in words
    )


def _last_day(answer: _Answer, written: WrittenLog, ends: Mapping[str, str]) -> date | None:
    """The day of the last word that the log has about the person."""
    days = (w.confirmed_on for w in written.confirmations if ends.get(w.person) == answer.person)
    return max(days, default=None)


def _take(answer: _Answer, person: Person, last: date | None, plan: ConfirmationPlan) -> None:
    """Write the word down. A correction changes the name unless a later word is there already."""
    plan.words.append(NewConfirmation(answer.person, answer.name, answer.day, answer.is_right))
    later = last is not None and answer.day is not None and last > answer.day
    if answer.corrects and not later:
        plan.people[answer.person] = replace(person, credit_name=answer.name)
