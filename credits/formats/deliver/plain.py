"""The end credits as plain files: a table, text, and data as ``credits roll --json`` has it."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from fractions import Fraction
from itertools import count, takewhile
from pathlib import Path
from typing import Any, Literal

from credits.billing.compared.edits import CreditEdit, compared_fields
from credits.billing.credits import Credits, Held, Line, Section
from credits.billing.plan import Layout, Picture, Size
from credits.billing.proofs import in_groups
from credits.billing.reasons import Reason, in_words
from credits.billing.setting import fixed_text, rows
from credits.billing.setting.breaking import EvenRuler, display_width
from credits.billing.setting.rows import LineKind, Room
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
    happened. seal: that of the proof; empty for a draft, and for all but the office. log_seal: that
    of the log when the proof was made; likewise.
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
    log_seal: str = ""

    @property
    def sealed(self) -> str:
        """Return ``Seal: 3f2a 91bc ... Seal of the log: 77c0 ...``; empty for a draft."""
        seals = {"Seal": self.seal, "Seal of the log": self.log_seal}
        said = (f"{what}: {in_groups(seal)}" for what, seal in seals.items() if seal)
        return ". ".join(said) if self.seal else ""

    @property
    def stand(self) -> str:
        """Return ``Proof 3 of 2026-03-05``, or ``Draft`` for credits that were not frozen."""
        if self.proof is None:
            return "Draft"
        saved = f" of {self.saved_on.isoformat()}" if self.saved_on is not None else ""
        return f"Proof {self.proof}{saved}"

    @property
    def data(self) -> str:
        """Say how far the data goes: ``Work up to 2026-03-03, log up to A-17, cut version 2``."""
        known = {"work up to": self.day, "log up to": self.last_line, "cut version": self.cut}
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
# What came later stands behind what readers of these files know.
MORE = ("note", "joined", "role_also", "heading_also", "card", "notes")
ORDER = "order"
APOSTROPHE = (
    "the apostrophe before the {} is no part of it: it keeps a spreadsheet from calculating"
)


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


def _rows(
    delivery: Delivery, place: int, section: Section, card: int
) -> Iterator[tuple[object, ...]]:
    heading, layout = text_of(section.heading), section.layout.value
    also, number_of_card = text_of(section.heading_also), card or ""
    before, crew = None, delivery.edition.sees(Edition.CREW)
    number = 0
    for number, line in enumerate(section.lines, 1):
        confirmed = ("yes" if line.confirmed else "no") if crew else ""
        to_left = direction(line.name) == "rtl"
        role = rows.role_of((line,))
        notes = (
            "spelling not confirmed" if confirmed == "no" else "",
            "name runs from right to left" if to_left else "",
            "role as above: set it once"
            if rows.has_roles(section) and line.role and role == before
            else "",
            "on one line with the name above" if line.joined and number > 1 else "",
        )
        yield (
            place, heading, layout, rows.columns_of(section), number,
            text_of(line.role or ""), text_of(line.name), "rtl" if to_left else "ltr",
            line.person, confirmed, text_of(line.note), text_of(line.joined),
            text_of(line.role_also), also, number_of_card, "; ".join(filter(None, notes)),
        )  # fmt: skip
        before = role
    pictures = [(f"[{text_of(p.shows)}]", f"picture {p.file}") for p in section.pictures]
    fixed = [(text, "fixed text") for text in fixed_text.text_lines(section.text)]
    alone = [] if section.lines or pictures or fixed else [("", "a heading alone")]
    for at, (text, note) in enumerate((*pictures, *fixed, *alone), number + 1):
        set_so = (1, at, "", text, direction(text), "", "", "", "", "", also, number_of_card, note)
        yield (place, heading, layout, *set_so)


def text_of(text: str) -> str:
    """A text for a cell: its line breaks are kept, other control characters are spaces."""
    return "\n".join(rows.kept_lines(text))


def credits_table(delivery: Delivery) -> Table:
    """Return the lines that print, a row for each; lines of fixed text stand as names."""
    cards = count(1)
    made = (
        row
        for place, section in enumerate(delivery.credits.sections, 1)
        for row in _rows(
            delivery, place, section, next(cards) if section.layout is Layout.CARD else 0
        )
    )
    numbered = ((order, *row) for order, row in enumerate(made, 1))
    return table_of("Credits", (ORDER, *CREDITS, *MORE), numbered)


def credits_csv(delivery: Delivery) -> bytes:
    """Return the lines that print as CSV.

    A cell that a spreadsheet would run as a formula has an apostrophe before it, since CSV has no
    other way to say that it is a text; the notes of its row say so.
    """
    table = credits_table(delivery).without(ORDER)
    keys = [column.key for column in table.columns]

    def noted(row: Sequence[object]) -> tuple[object, ...]:
        cells = [
            (key, cell)
            for key, cell in zip(keys, row, strict=True)
            if isinstance(cell, str) and guarded(cell) != cell
        ]
        said = (str(row[-1]), *(APOSTROPHE.format(key) for key, _ in cells))
        return (*row[:-1], "; ".join(filter(None, said)))

    return table_csv(replace(table, rows=tuple(map(noted, table.rows))))


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
                "heading_also": section.heading_also or None,
                "level": section.level,
                "pictures": [
                    {"file": picture.file, "shows": picture.shows, "lines": picture.lines}
                    for picture in section.pictures
                ],
                "lines": [
                    {
                        "person": line.person,
                        "name": line.name,
                        "role": line.role,
                        "role_also": line.role_also or None,
                        "note": line.note or None,
                        "joined": line.joined or None,
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
    head["log_seal"] = (delivery.seal and delivery.log_seal) or None
    whole = {**head, **shape, "caution": delivery.caution}
    return (json.dumps(whole, ensure_ascii=False, indent=2) + "\n").encode("utf-8", "replace")


WIDTH = 78
GUTTER = 2
LONGEST_ROLE = 40
STOP = 8  # columns: where the stops of a tab stand
UNLIMITED = 10**6
UNCONFIRMED = "\N{DEGREE SIGN}"


@dataclass(frozen=True, slots=True)
class TextSetting:
    """The room of plain text, in columns. ``card``: everything stands in the middle."""

    card: bool = False

    @property
    def _align(self) -> Literal["left", "centre"]:
        return "centre" if self.card else "left"

    @property
    def heading(self) -> Room:
        """The room of a heading: the whole width."""
        return Room(0, WIDTH, self._align)

    @property
    def text(self) -> Room:
        """The room of fixed text: a paragraph is a line, however long."""
        return Room(0, UNLIMITED, "left")

    def letters(self, size: Size) -> int:  # noqa: ARG002
        """The size of letters: there is one."""
        return 1

    def high(self, size: Size) -> int:  # noqa: ARG002
        """How many lines high a row is: one."""
        return 1

    def picture_width(self, lines: int, proportion: Fraction) -> int:  # noqa: ARG002
        """How wide a picture is: text has none."""
        return 0

    def indent(self, letters: int) -> int:  # noqa: ARG002
        """How far a name that goes on is indented."""
        return GUTTER

    def gutter(self, widest_role: int) -> tuple[Room, Room]:
        """The rooms of roles and names: on a card around the middle, else as roles need it."""
        role = WIDTH // 2 - 1 if self.card else min(LONGEST_ROLE, widest_role)
        left = role + GUTTER
        return Room(0, role, "right"), Room(left, WIDTH - left, "left")

    def columns(self, count: int, widest: int | None) -> tuple[Room, ...]:  # noqa: ARG002
        """The rooms of columns, at stops of a tab."""
        if count == 1:
            return (self.heading,)
        stride = (WIDTH + GUTTER) // count // STOP * STOP
        return tuple(Room(at * stride, stride - GUTTER, "left") for at in range(count))


def _written(row: rows.SetRow) -> str:
    """A row as text. No signs of direction are put in: what is copied is the name alone.

    Between two texts that run to the left stands a tab, which keeps them in their order (UAX #9,
    L1); it reaches to the same column wherever stops are set.
    """
    line, at, to_left = "", 0, False
    for piece in row.pieces:
        text = piece.text
        width = display_width(text)
        left, room, align = piece.room
        over = 0 if align == "left" else (room - width) // (2 if align == "centre" else 1)
        start = max(left + max(0, over), at + (GUTTER if at else 0))
        is_to_left = direction(text) == "rtl"
        if is_to_left and to_left:
            start = -(-start // STOP) * STOP
            line += " " * (start - at - 1) + "\t"
        else:
            line += " " * (start - at)
        line, at, to_left = line + text, start + width, is_to_left
    return line.rstrip()


def _fixed(section: Section) -> Iterator[str]:
    card = section.layout is Layout.CARD
    for line in fixed_text.text_lines(section.text):
        text = rows.spaced(line)
        yield " " * max(0, (WIDTH - display_width(text)) // 2) + text if card else text


def _section(each: rows.SetSection, two_levels: bool) -> Iterator[str]:
    if each.card:
        label = f"[Card {each.card}]"
        yield " " * ((WIDTH - len(label)) // 2) + label
    for row in each.heading:
        yield _written(row)
    section = each.section
    if two_levels and section.level == 1 and each.heading and not each.card:
        yield "-" * max(display_width(_written(row)) for row in each.heading)
    if each.heading and (section.lines or section.pictures or section.text):
        yield ""
    for picture in section.pictures:
        yield f"[{rows.one_line(picture.shows or picture.file)}]"
    names = takewhile(
        lambda row: row.kind is not LineKind.TEXT,
        (row for row in each.rows if row.kind is not LineKind.PICTURES),
    )
    held: list[str] = []
    for row in names:
        held.append(_written(row))
        if row.kind is not LineKind.BLANK:
            yield from held
            held = []
    if section.text and section.lines:
        yield ""
    yield from _fixed(section)


def credits_text(delivery: Delivery) -> bytes:
    """Return the lines that print as text of about 78 columns; wide letters count two (UAX #11).

    A name that is wider goes on indented; a paragraph is one line.
    """
    lines = [
        rows.one_line(delivery.title),
        f"End credits. {delivery.stand}. {delivery.data}.",
        "",
        delivery.caution,
    ]
    sections = delivery.credits.sections
    unconfirmed = any(not line.confirmed for section in sections for line in section.lines)
    marks = delivery.edition.sees(Edition.CREW)
    if unconfirmed and marks:
        lines += ["", f"{UNCONFIRMED} The spelling is not confirmed."]
    if not sections:
        lines += ["", "Nobody yet: nothing prints."]
    two, cards = any(section.level > 1 for section in sections), count(1)
    for section in sections:
        card = section.layout is Layout.CARD
        setter = rows.RowSetter(
            setting=TextSetting(card),
            ruler=EvenRuler(),
            mark=f" {UNCONFIRMED}" if marks else "",
            cuts=False,
        )
        made = setter.section(section, next(cards) if card else 0)
        lines += ["", "", *_section(made, two)]
    return ("\n".join(lines) + "\n").encode("utf-8", "replace")
