"""The end credits as plain files: a table, text, and data as ``credits roll --json`` has it."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

from credits.billing import roll
from credits.billing.credits import Credits, Held, Line, Section
from credits.billing.edits import CreditEdit, compared_fields
from credits.billing.plan import Layout, Picture
from credits.billing.proofs import in_groups
from credits.billing.reasons import Reason, in_words
from credits.cautions import CREDITS_CAUTION
from credits.editions import Edition
from credits.errors import Finding, WrongCall
from credits.model.facts import EntryNumber
from credits.names import direction
from credits.text import guarded
from credits.units.table import Column, Table


@dataclass(frozen=True, slots=True, kw_only=True)
class Delivery:
    """The compiled credits with everything that a printed copy says of itself.

    proof: its number, None for a draft. saved_on: when it was frozen. day, last_line, cut: how far
    the data goes. edition: the crew is shown spellings that nobody confirmed, and the rules,
    figures and entries behind a line; the office also who is not printed, and what contracts say.
    changes: what came, went, moved or was respelled since an earlier proof: kind, name, what
    happened. seal: that of the proof; empty for a draft.
    """

    title: str
    credits: Credits
    caution: str = CREDITS_CAUTION
    proof: int | None = None
    saved_on: date | None = None
    day: date | None = None
    last_line: EntryNumber | None = None
    cut: int | None = None
    edition: Edition = Edition.CREW
    changes: tuple[tuple[str, str, str], ...] | None = None
    seal: str = ""

    @property
    def sealed(self) -> str:
        """Return ``Seal: 3f2a 91bc ...``; empty for a draft."""
        return f"Seal: {in_groups(self.seal)}" if self.seal else ""

    @property
    def stand(self) -> str:
        """Return ``Proof 3 of 2026-03-05``, or ``Draft`` for credits that were not frozen."""
        if self.proof is None:
            return "Draft"
        saved = f" of {self.saved_on.isoformat()}" if self.saved_on is not None else ""
        return f"Proof {self.proof}{saved}"

    @property
    def data(self) -> str:
        """Say how far the data goes: ``Work up to 2026-03-03, log up to A-17, cut 2``."""
        known = {"work up to": self.day, "log up to": self.last_line, "cut": self.cut}
        parts = [f"{words} {value}" for words, value in known.items() if value is not None]
        nothing = "nothing is logged" if self.proof is None else f"as of proof {self.proof}"
        text = ", ".join(parts) or nothing
        return text[:1].upper() + text[1:]


# What the first bytes of a file of each kind are; plain text is known by its name alone.
SIGNATURES: Mapping[str, bytes] = {
    ".pdf": b"%PDF-",
    ".png": b"\x89PNG\r\n\x1a\n",
    ".xlsx": b"PK\x03\x04",
    ".txt": b"",
    ".csv": b"",
    ".json": b"",
}


def check_target(path: Path, suffix: str) -> None:
    """Raise WrongCall rather than write over anything but a file of the same kind."""
    if path.is_dir():
        hint = f"Name a file, such as {path / ('credits' + suffix)}."
        raise WrongCall(Finding("is a folder", hint, column="--out", value=str(path)))
    if path.is_file() and path.suffix.lower() == suffix:
        with path.open("rb") as file:
            if file.read(len(SIGNATURES[suffix])) in (SIGNATURES[suffix], b""):
                return
    if path.exists():
        hint = "Nothing is written over a file of another kind: name another file."
        what = f"is there and is no {suffix[1:].upper()} file"
        raise WrongCall(Finding(what, hint, column="--out", value=str(path)))


CREDITS = (
    "section", "heading", "layout", "columns", "line", "role", "name", "direction", "person",
    "confirmed",
)  # fmt: skip
FOR_TITLE_HOUSE = ("order", "notes")


def table_of(caption: str, keys: Iterable[str], rows: Iterable[tuple[object, ...]]) -> Table:
    """Return a table of texts and whole numbers for a file, its columns called by their keys."""
    columns = tuple(Column(key=key, heading=key) for key in keys)
    return Table(caption=caption, columns=columns, rows=tuple(rows))


def table_csv(table: Table) -> bytes:
    """Return a table as CSV: UTF-8 with a byte-order mark, texts quoted, none run as a formula."""
    text = io.StringIO()
    writer = csv.writer(text, quoting=csv.QUOTE_NONNUMERIC)
    writer.writerow(column.key for column in table.columns)
    for row in table.rows:
        writer.writerow(guarded(cell) if isinstance(cell, str) else cell for cell in row)
    return text.getvalue().encode("utf-8-sig", "replace")


def _rows(delivery: Delivery, place: int, section: Section) -> Iterator[tuple[object, ...]]:
    heading, layout = roll.one_line(section.heading), section.layout.value
    before, crew = None, delivery.edition.sees(Edition.CREW)
    for number, line in enumerate(section.lines, 1):
        confirmed = ("yes" if line.confirmed else "no") if crew else ""
        to_left = direction(line.name) == "rtl"
        notes = (
            "spelling not confirmed" if confirmed == "no" else "",
            "name runs from right to left" if to_left else "",
            "role as above: set it once"
            if roll.has_roles(section) and line.role and line.role == before
            else "",
        )
        yield (
            place, heading, layout, roll.columns_of(section), number,
            roll.one_line(line.role or ""), roll.one_line(line.name), "rtl" if to_left else "ltr",
            line.person, confirmed, "; ".join(filter(None, notes)),
        )  # fmt: skip
        before = line.role
    for number, text in enumerate(_fixed_text(section), len(section.lines) + 1):
        set_so = (1, number, "", text, direction(text), "", "", "fixed text")
        yield (place, heading, layout, *set_so)


def _fixed_text(section: Section) -> Iterator[str]:
    yield from map(roll.one_line, roll.text_lines(section.text))


def credits_table(delivery: Delivery) -> Table:
    """Return the lines that print, a row for each; lines of fixed text stand as names."""
    rows = (
        row
        for place, section in enumerate(delivery.credits.sections, 1)
        for row in _rows(delivery, place, section)
    )
    numbered = ((order, *row) for order, row in enumerate(rows, 1))
    order, notes = FOR_TITLE_HOUSE
    return table_of("Credits", (order, *CREDITS, notes), numbered)


def credits_csv(delivery: Delivery) -> bytes:
    """Return the lines that print as CSV."""
    return table_csv(credits_table(delivery).without(*FOR_TITLE_HOUSE))


def because_json(reasons: tuple[Reason, ...], office: bool = True) -> dict[str, object]:
    """Return reasons as data: rule, threshold, figures, entries; to the office all of them."""
    words = in_words(reasons, office=office)
    return {
        "rule": words.rule,
        "threshold": words.threshold or None,
        "figures": dict(words.figures),
        "entries": [str(number) for number in words.entries],
    }


def credits_shape(
    credits: Credits, proof: int | None = None, edition: Edition = Edition.OFFICE
) -> dict[str, object]:
    """Return the credits as plain data: to the crew with reasons, to the office with the held."""
    reasons, office = edition.sees(Edition.CREW), edition.sees(Edition.OFFICE)
    return {
        "proof": proof,
        "sections": [
            {
                "heading": section.heading,
                "layout": section.layout.value,
                "columns": section.columns,
                "text": section.text or None,
                "lines": [
                    {
                        "person": line.person,
                        "name": line.name,
                        "role": line.role,
                        "because": because_json(line.because, office) if reasons else None,
                    }
                    for line in section.lines
                ],
            }
            for section in credits.sections
        ],
        "held": [
            {
                "person": held.person,
                "heading": held.heading or None,
                "reason": held.reason,
                "threshold": words.threshold or None,
                "figures": dict(words.figures),
            }
            for held in ((*credits.held, *credits.held_lines) if office else ())
            for words in (in_words(held.because),)
        ],
        "order_of_appearance": list(credits.order_of_appearance),
    }


def edit_json(edit: CreditEdit) -> dict[str, object]:
    """Return an edit as data: ``at`` and ``to`` are places from 1, of a section and of its line."""
    places = ([place + 1 for place in each] if each else None for each in (edit.at, edit.to))
    at, to = places
    return {
        "edit": str(edit.kind),
        "of": str(edit.of),
        "at": at,
        "to": to,
        "field": edit.field or None,
        "old": _plain(edit.old),
        "new": _plain(edit.new),
    }


def _plain(value: Any) -> object:
    """A value as data; of a line or a section what prints."""
    if isinstance(value, Line | Section | Held):
        return {name: _plain(getattr(value, name)) for name in compared_fields(type(value))}
    if isinstance(value, Picture):
        return {"file": value.file, "shows": value.shows, "lines": value.lines}
    if isinstance(value, tuple):
        return [_plain(each) for each in value]
    return str(value) if isinstance(value, str) else value


def credits_json(delivery: Delivery) -> bytes:
    """Return the JSON file: the shape, and the film, the data and the caution beside it."""
    shape = credits_shape(delivery.credits, delivery.proof, delivery.edition)
    head = {"title": delivery.title, "data": delivery.data, "seal": delivery.seal or None}
    whole = {**head, **shape, "caution": delivery.caution}
    return (json.dumps(whole, ensure_ascii=False, indent=2) + "\n").encode("utf-8", "replace")


WIDTH = 78
GUTTER = "  "
LONGEST_ROLE = 40
UNCONFIRMED = "\N{DEGREE SIGN}"
_ISOLATE, _END = "\N{FIRST STRONG ISOLATE}", "\N{POP DIRECTIONAL ISOLATE}"
_LEFT_TO_RIGHT = "\N{LEFT-TO-RIGHT MARK}"


def _beside(text: str) -> str:
    """Isolate a text that runs to the left, so that it does not turn the others of its line."""
    return f"{_ISOLATE}{text}{_END}" if direction(text) == "rtl" else text


def _joined(parts: Sequence[str]) -> str:
    line = "".join(parts).rstrip()
    return _LEFT_TO_RIGHT + line if direction(line) == "rtl" or _ISOLATE in line else line


def _padded(text: str, width: int, right: bool = False) -> str:
    space = " " * max(0, width - roll.display_width(text))
    return f"{space}{_beside(text)}" if right else f"{_beside(text)}{space}"


def _centred(text: str) -> str:
    return " " * max(0, (WIDTH - roll.display_width(text)) // 2) + text


def _name(line: Line, delivery: Delivery) -> str:
    marked = not line.confirmed and delivery.edition.sees(Edition.CREW)
    return roll.one_line(line.name) + (f" {UNCONFIRMED}" if marked else "")


def _with_roles(section: Section, delivery: Delivery) -> Iterator[str]:
    roles = [roll.one_line(line.role or "") for line in section.lines]
    width = min(LONGEST_ROLE, max(map(roll.display_width, roles)))
    before = None
    for line, role in zip(section.lines, roles, strict=True):
        first, *rest = list(roll.wrapped("" if role == before else role, width))
        yield _joined([_padded(first, width, right=True), GUTTER, _beside(_name(line, delivery))])
        yield from (_joined([_padded(part, width, right=True)]) for part in rest)
        before = role


def _in_columns(section: Section, delivery: Delivery) -> Iterator[str]:
    widest = max(roll.display_width(_name(line, delivery)) for line in section.lines)
    columns = min(roll.columns_of(section), max(1, (WIDTH + len(GUTTER)) // (widest + len(GUTTER))))
    if columns == 1:
        yield from (_name(line, delivery) for line in section.lines)
        return
    width = (WIDTH + len(GUTTER)) // columns - len(GUTTER)
    for row in roll.in_rows(section.lines, columns):
        yield _joined([_padded(_name(line, delivery), width) + GUTTER for line in row])


def _section(section: Section, delivery: Delivery) -> Iterator[str]:
    card = section.layout is Layout.CARD
    heading = roll.one_line(section.heading)
    if heading:
        yield _centred(heading) if card else heading
        yield ""
    if roll.has_roles(section) and not card:
        yield from _with_roles(section, delivery)
    elif card:
        for line in section.lines:
            if line.role:
                yield _centred(roll.one_line(line.role))
            yield _centred(_name(line, delivery))
    elif section.lines:
        yield from _in_columns(section, delivery)
    yield from (_centred(line) if card else line for line in _fixed_text(section))


def credits_text(delivery: Delivery) -> bytes:
    """Return the lines that print as text of about 78 columns; wide letters count two (UAX #11)."""
    lines = [roll.one_line(delivery.title), f"End credits. {delivery.stand}. {delivery.data}.", ""]
    lines += roll.wrapped(delivery.caution, WIDTH)
    sections = delivery.credits.sections
    unconfirmed = any(not line.confirmed for section in sections for line in section.lines)
    if unconfirmed and delivery.edition.sees(Edition.CREW):
        lines += ["", f"{UNCONFIRMED} The spelling is not confirmed."]
    if not sections:
        lines += ["", "Nobody yet: nothing prints."]
    for section in sections:
        lines += ["", "", *_section(section, delivery)]
    return ("\n".join(lines) + "\n").encode("utf-8", "replace")
