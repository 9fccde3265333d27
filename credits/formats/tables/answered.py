"""What the sheet that asks how names are spelled says when it comes back."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from typing import NamedTuple

from credits.errors import Finding
from credits.formats.tables.columns import TABLES, CodeBooks
from credits.formats.tables.lists import Rows
from credits.model.facts import Confirmation, NewConfirmation, Person
from credits.model.log import TableCount, WrittenLog
from credits.model.replay import one_person
from credits.text import doubled_spaces, single_spaced

COLUMNS = TABLES["confirmations"].column_names
NO_MATTER = frozenset({"headings", "answer_by"})
"""Columns that say nothing of the answer."""


@dataclass(frozen=True, slots=True)
class AnswersRead:
    """What the sheets say: the words to write, the people whose names they change, the count.

    ``notes``: what is read otherwise than it stands there, and what is not read, row by row.
    """

    words: list[NewConfirmation] = field(default_factory=list)
    people: dict[str, Person] = field(default_factory=dict)
    count: TableCount = field(default_factory=TableCount)
    notes: tuple[Finding, ...] = ()


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
    today: date | None = None,
) -> AnswersRead:
    """Plan what the sheets say.

    people: as they will stand by ``given_names``, the people tables of this load. today: an answer
    of a later day is a finding; None: nothing is asked of that.
    """
    if not any(sheets):
        return AnswersRead()
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
    notes: list[Finding] = []
    same = 0
    for answer in (a for rows in sheets for a in _answers(rows, ends, people, books, notes)):
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
            notes += _overtaken(answer, last_words[word.person])
        elif today is not None and word.confirmed_on is not None and word.confirmed_on > today:
            what, hint = f"is in the future: today is {today}", "Write the day of the answer."
            answer.rows.problem(answer.at, "confirmed_on", word.confirmed_on, what, hint)
        else:
            words.append(word)
            last = max((g.confirmed_on for g in last_words[word.person]), default=date.min)
            # A correction changes the name unless a later word is there already.
            if word.confirmed_on is None or word.confirmed_on >= last:
                if answer.corrects:
                    corrected[word.person] = replace(people[word.person], credit_name=word.name)
                notes += _about_another(answer, people[word.person])
            else:
                notes += _overtaken(answer, last_words[word.person])
    count = TableCount(new=len(words), same=same)
    return AnswersRead(words, corrected, count, tuple(notes))


def _is_said_by(word: NewConfirmation, given: Confirmation) -> bool:
    """Whether the log has the word; one without a day if it was ever given, whatever came later."""
    same = (given.name, given.is_right) == (word.name, word.is_right)
    return same and word.confirmed_on in (None, given.confirmed_on)


def _overtaken(answer: _Answer, given: Sequence[Confirmation]) -> Iterator[Finding]:
    """Say that a later answer counts, where that says otherwise."""
    last = max(reversed(given), key=lambda each: each.confirmed_on)
    word = answer.word
    if (last.name, last.is_right) == (word.name, word.is_right):
        return
    is_dated = word.confirmed_on is not None
    what = "is older than the last answer" if is_dated else "was given before the last answer"
    what += f" about this name, '{last.name}' of {last.confirmed_on}, which goes on to count"
    hint = "If this one is newer, write the day on which it was given."
    value = str(word.confirmed_on) if is_dated else word.name
    column = "confirmed_on" if is_dated else "credit_name"
    yield Finding(what, hint, answer.rows.sheet.place(answer.at), column, value)


def _about_another(answer: _Answer, person: Person) -> Iterator[Finding]:
    """Say that an answer is about another spelling than that which prints."""
    if answer.corrects or answer.word.name == person.credit_name:
        return
    what = f"is not how the name stands now, '{person.credit_name}'"
    hint = "The answer is kept as one about that spelling, and the name is asked about again."
    place = answer.rows.sheet.place(answer.at)
    yield Finding(what, hint, place, "credit_name", answer.word.name)


# --- One row


class _AnswerRow(NamedTuple):
    """What the cells of a row say; None where one is empty."""

    person: str | None
    credit_name: str | None
    headings: str | None
    confirmed: bool | None
    correction: str | None
    confirmed_on: date | None
    legal_name: str | None
    answer_by: date | None
    asked_name: str | None


class _Reader:
    """Reads one row; notes what is read otherwise than it stands there."""

    def __init__(self, rows: Rows, at: int, row: _AnswerRow, person: Person) -> None:
        self.rows, self.at, self.row, self.person = rows, at, row, person
        self.notes: list[Finding] = []
        self.asked_about = row.asked_name or row.credit_name or person.credit_name
        self.written_over = self._written_over()

    def note(self, column: str, value: object, what: str, hint: str = "") -> None:
        """Say something of a cell of the row."""
        text = None if value is None else str(value)
        self.notes.append(Finding(what, hint, self.rows.sheet.place(self.at), column, text))

    def _written_over(self) -> str | None:
        """Return what somebody wrote over the name that was asked about, if anybody did."""
        given, asked = self.row.credit_name, self.row.asked_name
        if given is None or asked is None or given == asked:
            return None
        if single_spaced(given) == single_spaced(asked):
            self.note("credit_name", given, f"differs in spaces alone: it is read as '{asked}'")
            return None
        return given

    def right_name(self) -> str | None:
        """Return the spelling that is right instead; None: none is, or two are, which is found."""
        over, correction = self.written_over, self.row.correction
        if over is not None and correction is not None and over != correction:
            what = f"was written over '{self.asked_about}', and the correction is '{correction}'"
            self.rows.problem(self.at, "credit_name", over, what, "Keep one of the two.")
            return None
        if over is not None:
            what = f"was written over '{self.asked_about}': it is read as the right name"
            self.note("credit_name", over, what)
        found = over if over is not None else correction
        if found is not None and found != self.person.credit_name and doubled_spaces(found):
            single = single_spaced(found)
            column = "credit_name" if over is not None else "correction"
            self.note(column, found, f"has spaces in a row: it is read as '{single}'")
            return single
        return found

    def answer(self) -> _Answer | None:
        """Return the answer; None: there is none, or it contradicts itself."""
        row, before = self.row, len(self.rows.findings)
        if row.legal_name is not None and row.legal_name != self.person.legal_name:
            hint = "Write it into the people table."
            self.note("legal_name", row.legal_name, "is not changed by this sheet", hint)
        right = self.right_name()
        if len(self.rows.findings) > before:
            return None
        if row.confirmed is None and right is None:
            self._note_unanswered()
            return None
        is_corrected = row.correction is not None and right != self.asked_about
        if is_corrected and row.confirmed is True and self.written_over is None:
            what = "says that the name is right, and corrects it"
            hint = "Write no, or take the correction out."
            self.rows.problem(self.at, "confirmed", "yes", what, hint)
            return None
        spelling = self.asked_about if right is None else right
        word = NewConfirmation(
            person=self.person.code,
            name=spelling,
            confirmed_on=row.confirmed_on,
            is_right=row.confirmed is True or right is not None,
        )
        corrects = spelling not in (self.asked_about, self.person.credit_name)
        return _Answer(self.rows, self.at, word, corrects)

    def _note_unanswered(self) -> None:
        """Say what a row without an answer holds besides what was asked."""
        row, current = self.row, self.person.credit_name
        if row.confirmed_on is not None:
            hint = "Write yes or no beside it."
            self.note("confirmed_on", row.confirmed_on, "stands beside no answer", hint)
        elif row.asked_name is None and row.credit_name not in (None, current):
            what = f"is not how the name stands, '{current}', and stands beside no answer"
            self.note("credit_name", row.credit_name, what, "Write the right name as correction.")


def _answers(
    rows: Rows,
    ends: Mapping[str, str],
    people: Mapping[str, Person],
    books: CodeBooks,
    notes: list[Finding],
) -> Iterator[_Answer]:
    """The answered rows; what contradicts itself is a finding. ``notes`` grow by what is said."""
    said = rows.by_row(books)
    for index, values in enumerate(said if rows.usable else ()):
        row = _AnswerRow(*values)
        if rows.bad_in(index) & {*COLUMNS} - NO_MATTER or row.person is None:
            continue
        person = people.get(ends.get(row.person, row.person))
        if person is None:
            continue
        reader = _Reader(rows, index, row, person)
        answer = reader.answer()
        notes += reader.notes
        if answer is not None:
            yield answer
