"""The sheet that asks how names are spelled, out and back."""

from __future__ import annotations

import io
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime

import xlsxwriter

from credits.billing.credits import Credits
from credits.formats.tables.codes import CodeBooks
from credits.formats.tables.columns import TABLES
from credits.formats.tables.lists import Rows
from credits.model.facts import Confirmation, Person
from credits.model.ledger import Ledger
from credits.model.log import NewConfirmation, TableCount, WrittenLog
from credits.model.replay import one_person


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


COLUMNS = TABLES["confirmations"].column_names
WIDTHS = {"person": 14, "credit_name": 34, "headings": 46, "confirmed": 11, "correction": 34}
# The same film, the same bytes: a workbook must say when it was made (ECMA-376 part 2, 11).
_MADE = datetime(2000, 1, 1)
_ASKED = {
    "confirmed": ("Is the name right?", "yes, or no. If no, write the right name beside it."),
    "correction": ("The right name", "Exactly as it is to appear, every letter and sign."),
    "confirmed_on": ("When", "The day of the answer: year-month-day, such as 2026-03-02."),
}


@dataclass(frozen=True, slots=True)
class Asked:
    """Somebody who would be printed. ``confirmed_on``: None where the name is not confirmed."""

    person: str
    name: str
    headings: tuple[str, ...]
    confirmed_on: date | None


def asked(credits: Credits, ledger: Ledger) -> Iterator[Asked]:
    """Everybody whom the credits print, once, in their order."""
    headings: dict[str, dict[str, None]] = {}
    for section in credits.sections:
        for line in section.lines:
            headings.setdefault(line.person, {})[section.heading] = None
    for person, own in headings.items():
        word = ledger.confirmation(person)
        day = word.confirmed_on if word is not None and ledger.confirmed(person) else None
        name = ledger.person(person).credit_name
        yield Asked(person, name, tuple(heading for heading in own if heading), day)


def confirmation_sheet(credits: Credits, ledger: Ledger) -> bytes:
    """The sheet as a workbook. Names stand as text, whatever they begin with."""

    target = io.BytesIO()
    options = {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False}
    with xlsxwriter.Workbook(target, options) as book:
        book.set_properties({"title": "Confirmation of names", "created": _MADE})
        sheet = book.add_worksheet("confirmations")
        bold = book.add_format({"bold": True, "bottom": 1})
        day = book.add_format({"num_format": "yyyy-mm-dd"})
        text = book.add_format({"num_format": "@", "text_wrap": True, "valign": "top"})
        sheet.freeze_panes(1, 2)
        rows = list(asked(credits, ledger))
        for at, column in enumerate(COLUMNS):
            shape = day if column == "confirmed_on" else text
            sheet.set_column(at, at, WIDTHS.get(column, 14), shape)
            sheet.write_string(0, at, column, bold)
            if column in _ASKED and rows:
                title, message = _ASKED[column]
                rule: dict[str, object] = {
                    "validate": "any",
                    "input_title": title,
                    "input_message": message,
                }
                if column == "confirmed":
                    rule |= {"validate": "list", "source": ["yes", "no"]}
                sheet.data_validation(1, at, len(rows), at, rule)
        for number, row in enumerate(rows, 1):
            for column, value in zip(
                COLUMNS, (row.person, row.name, ", ".join(row.headings)), strict=False
            ):
                sheet.write_string(number, COLUMNS.index(column), value, text)
            if row.confirmed_on is not None:
                sheet.write_string(number, COLUMNS.index("confirmed"), "yes", text)
                sheet.write_datetime(number, COLUMNS.index("confirmed_on"), row.confirmed_on, day)
    return target.getvalue()
