"""The form that asks one person how their name is to appear, as PDF."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from credits.billing.setting.rows import one_line
from credits.cautions import CREDITS_CAUTION
from credits.formats.deliver.fonts import SERIF, Needed
from credits.formats.deliver.typesetting import Typesetter, typeset
from credits.formats.tables.confirmations import Asked
from credits.units.film_time import day_text

ASKS = "How your name is to appear"
WORDS = (
    "Your name would appear in the end credits as it stands here, letter for letter, and in these "
    "places. Please tell the production office whether it is right."
)
QUESTIONS = ("The name is right.", "The name is not right. It is to appear so:")
SIGNED = ("Day", "Signature")
LEGAL = "Legal name, for the production office alone"
HEADS = ("Heading", "Role", "Name")
OWN_LETTERS = "0123456789 /,.:() Please answer by Confirmed on"


@dataclass(frozen=True, slots=True, kw_only=True)
class PersonalForm:
    """A form for each person of a film.

    answer_by: the day by which to answer. legal: whether it asks for the legal name too.
    """

    film: str
    answer_by: date | None
    legal: bool
    people: Sequence[Asked]

    @property
    def texts(self) -> Iterator[Needed]:
        """Return every text that is set, with whose it is."""
        for text in (CREDITS_CAUTION, ASKS, WORDS, LEGAL, OWN_LETTERS, *QUESTIONS, *SIGNED, *HEADS):
            yield Needed(text, "the page itself")
        yield Needed(one_line(self.film), "the title")
        for one in self.people:
            owner = f"{one_line(one.name)} (person {one.person})"
            yield Needed(one.name, owner)
            if self.legal:
                yield Needed(one.legal_name or "", f"the legal name of {owner}")
            for at in one.lines:
                yield Needed(f"{at.heading} {at.role} {at.name}", f"a line of {owner}")

    def typesetter(self, folders: Sequence[Path]) -> Callable[[Asked], bytes]:
        """Return what makes the form of a person: same data and fonts, same bytes.

        folders: where fonts are. Raises LettersMissingError for letters that none of them has.
        """
        sets = Typesetter.for_texts(folders, self.texts, SERIF)
        return lambda one: sets.pdf("name.typ", self._data(one))

    def _data(self, one: Asked) -> dict[str, object]:
        by = "" if self.answer_by is None else f"Please answer by {day_text(self.answer_by)}."
        on = "" if one.confirmed_on is None else f"Confirmed on {day_text(one.confirmed_on)}."
        return {
            "document": f"{one_line(self.film)}: {ASKS.lower()}: {one_line(one.name)}",
            "film": typeset(self.film),
            "asks": ASKS,
            "answer_by": by,
            "words": WORDS,
            "name": typeset(one.name),
            "confirmed": on,
            "heads": HEADS,
            "lines": [[typeset(text) for text in at] for at in one.lines],
            "questions": QUESTIONS,
            "legal": {"asks": LEGAL, "name": typeset(one.legal_name or "")} if self.legal else None,
            "signed": SIGNED,
            "caution": CREDITS_CAUTION,
        }
