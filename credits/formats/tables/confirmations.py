"""The sheet that asks how names are spelled, out and back."""

from __future__ import annotations

import io
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date, datetime
from typing import NamedTuple

import xlsxwriter

from credits.billing.credits import Credits
from credits.formats.tables.columns import TABLES, CodeBooks
from credits.formats.tables.lists import Rows
from credits.model.facts import Confirmation, NewConfirmation, Person
from credits.model.ledger import Ledger
from credits.model.log import TableCount, WrittenLog
from credits.model.replay import one_person

COLUMNS = TABLES["confirmations"].column_names  # the first four are those asked about
WIDTHS = {"person": 14, "credit_name": 34, "headings": 46, "confirmed": 11, "correction": 34}
# The same film, the same bytes: a workbook must say when it was made (ECMA-376 part 2, 11).
_MADE = datetime(2000, 1, 1)
_ASKED = {
    "confirmed": ("Is the name right?", "yes, or no. If no, write the right name beside it."),
    "correction": ("The right name", "Exactly as it is to appear, every letter and sign."),
    "confirmed_on": ("When", "The day of the answer: year-month-day, such as 2026-03-02."),
}


class Asked(NamedTuple):
    """Somebody who would be printed. ``confirmed_on``: None where the name is not confirmed."""

    person: str
    name: str
    headings: tuple[str, ...]
    confirmed_on: date | None


def asked(credits: Credits, ledger: Ledger) -> Iterator[Asked]:
    """Find everybody whom the credits print, once, in their order."""
    headings: dict[str, dict[str, None]] = {}
    for section in credits.sections:
        for line in section.lines:
            headings.setdefault(line.person, {})[section.heading] = None
    for person, own in headings.items():
        word = ledger.confirmation(person)
        on = word.confirmed_on if word and ledger.confirmed(person) else None
        yield Asked(person, ledger.person(person).credit_name, tuple(filter(None, own)), on)


def confirmation_sheet(credits: Credits, ledger: Ledger) -> bytes:
    """Return the sheet as a workbook. Names stand as text, whatever they begin with."""
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
                rule: dict[str, object] = {"input_title": title, "input_message": message}
                choice = {"validate": "list", "source": ["yes", "no"]}
                rule |= choice if column == "confirmed" else {"validate": "any"}
                sheet.data_validation(1, at, len(rows), at, rule)
        for number, row in enumerate(rows, 1):
            said = [row.person, row.name, ", ".join(row.headings)]
            if row.confirmed_on is not None:
                said.append("yes")
                sheet.write_datetime(number, COLUMNS.index("confirmed_on"), row.confirmed_on, day)
            for at, value in enumerate(said):
                sheet.write_string(number, at, value, text)
    return target.getvalue()


class _Answer(NamedTuple):
    """One answered row. ``corrects``: the name changes to that of the word."""

    rows: Rows
    at: int
    word: NewConfirmation
    corrects: bool


def plan_confirmations(
    sheets: Sequence[Rows],
    written: WrittenLog,
    people: Mapping[str, Person],
    given_names: Sequence[Rows],
    books: CodeBooks,
) -> tuple[list[NewConfirmation], dict[str, Person], TableCount]:
    """Plan what the sheets say: the words to write, the people whose names they change, the count.

    people: as they will stand by ``given_names``, the people tables of this load.
    """
    if not any(sheets):
        return [], {}, TableCount()
    ends = one_person(people.values())
    spelled = {
        code: name
        for rows in given_names
        if rows.usable and rows.has("credit_name")
        for code, name in rows.by_row(books, "person", "credit_name")
        if code is not None and name is not None and ends.get(code) == code
    }
    last_words: dict[str, list[Confirmation]] = defaultdict(list)
    for given in written.confirmations:
        last_words[ends.get(given.person, given.person)].append(given)
    words: list[NewConfirmation] = []
    corrected: dict[str, Person] = {}
    seen: dict[str, _Answer] = {}
    same = 0
    for answer in (a for rows in sheets for a in _answers(rows, ends, people, books)):
        word = answer.word
        before = seen.setdefault(word.person, answer)
        if before is not answer:
            if before.word == word:
                same += 1
            else:
                what = f"{before.rows.sheet.place(before.at)} says otherwise of the same person"
                hint = "Keep one of the two rows."
                answer.rows.problem(answer.at, "person", word.person, what, hint)
        elif answer.corrects and spelled.get(word.person, word.name) != word.name:
            what = f"the people table of this load spells it '{spelled[word.person]}'"
            hint = "Correct it there too."
            answer.rows.problem(answer.at, "correction", word.name, what, hint)
        elif any(_is_said_by(word, given) for given in last_words[word.person]):
            same += 1
        else:
            words.append(word)
            last = max((g.confirmed_on for g in last_words[word.person]), default=date.min)
            # A correction changes the name unless a later word is there already.
            if answer.corrects and (word.confirmed_on is None or word.confirmed_on >= last):
                corrected[word.person] = replace(people[word.person], credit_name=word.name)
    return words, corrected, TableCount(new=len(words), same=same)


def _is_said_by(word: NewConfirmation, given: Confirmation) -> bool:
    """Whether the log has the word; one without a day if it was ever given, whatever came later."""
    same = (given.name, given.is_right) == (word.name, word.is_right)
    return same and word.confirmed_on in (None, given.confirmed_on)


def _answers(
    rows: Rows, ends: Mapping[str, str], people: Mapping[str, Person], books: CodeBooks
) -> Iterator[_Answer]:
    """The answered rows; what contradicts itself is a finding."""
    said = rows.by_row(books)
    for index, values in enumerate(said if rows.usable else ()):
        code, given_name, _, confirmed, correction, day = values
        if rows.bad_in(index) & {*COLUMNS} - {"headings"} or code is None:
            continue
        code = ends.get(code, code)
        person = people.get(code)
        if person is None or (confirmed is None and correction is None):
            continue
        name = given_name or person.credit_name
        if correction is not None and confirmed is True and correction != name:
            what = "says that the name is right, and corrects it"
            rows.problem(index, "confirmed", "yes", what, "Write no, or take the correction out.")
            continue
        spelling = name if correction is None else correction
        is_right = confirmed is True or correction is not None
        word = NewConfirmation(person=code, name=spelling, confirmed_on=day, is_right=is_right)
        yield _Answer(rows, index, word, spelling not in (name, person.credit_name))
