"""The last word on how each person's name is spelled."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, datetime

from credits.model.facts import Confirmation
from credits.model.written import WrittenLog


def last_confirmations(log: WrittenLog, persons: Mapping[str, str]) -> dict[str, Confirmation]:
    """The last word on the spelling of each person's name: by its day, then as written.

    The date in the people table is a word on the name as it stood when the date came in; the store
    writes it down then. Where that was not written down, it is a word on the name as it stands.
    """
    words = list(log.confirmations)
    written = {(word.person, word.confirmed_on) for word in words}
    for person in log.people:
        day = person.name_confirmed_on
        if day is not None and (person.code, day) not in written:
            midnight = datetime(day.year, day.month, day.day, tzinfo=UTC)
            words.append(Confirmation(person.code, person.credit_name, day, True, None, midnight))
    last: dict[str, Confirmation] = {}
    for word in sorted(words, key=lambda word: word.confirmed_on):
        last[persons.get(word.person, word.person)] = word
    return last
