"""The credits row by row: which pieces stand in a row, where, and how large they are.

The proof, the roll, the cards and the plain text set these rows; a setting says what room there
is, and a ruler how wide a text is in it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from enum import StrEnum
from fractions import Fraction
from itertools import groupby, zip_longest
from typing import Literal, NamedTuple, Protocol, TypeVar

from credits.billing.credits import Credits, Line, Section
from credits.billing.plan import Layout, Picture, Size
from credits.billing.setting.breaking import Ruler, Runs, broken, plain
from credits.billing.setting.fixed_text import TextBlock, TextRun, blocks_of
from credits.errors import Finding
from credits.names import direction

WITH_ROLES = frozenset({Layout.ROLE_AND_NAME, Layout.CHARACTER_AND_NAMES})
MOST_ROWS_A_NAME = 3  # of a section in columns; where a name takes more, columns are fewer
CONTINUED = "(continued)"
SECONDS_A_WORD = Fraction(1, 5)
MANY_WORDS = 10
T = TypeVar("T")


class LineKind(StrEnum):
    """What a row holds."""

    BLANK = "blank"
    HEADING = "heading"
    ROLE = "role"
    NAMES = "names"
    TEXT = "text"
    PICTURES = "pictures"


class Room(NamedTuple):
    """The room of a text: its left edge and width in the picture, where it stands in it."""

    left: int
    width: int
    align: Literal["left", "centre", "right"]


class Piece(NamedTuple):
    """A text in a row.

    ``column``: of names, from 0; a role is in 0, the name opposite in 1. ``person``: whose name it
    is. ``follows``: it goes on from the row above, indented.
    """

    runs: Runs
    room: Room
    column: int = 0
    person: str = ""
    follows: bool = False

    @property
    def text(self) -> str:
        """The text without its dress."""
        return plain(self.runs)


class PlacedPicture(NamedTuple):
    """A picture in a row; ``shows``: what it is, in words."""

    file: str
    shows: str
    left: int
    width: int
    lines: int


@dataclass(frozen=True, slots=True)
class SetRow:
    """A row. ``high``: how many lines of the roll; ``letters``: the size of its letters.

    ``columns``: how many there are. ``keep``: no page ends behind it. ``role``: the role that it
    stands under, where that begins in a row above.
    """

    kind: LineKind
    pieces: tuple[Piece, ...] = ()
    letters: int = 0
    high: int = 1
    columns: int = 1
    keep: bool = False
    role: tuple[Piece, ...] = ()
    pictures: tuple[PlacedPicture, ...] = ()


BLANK = SetRow(LineKind.BLANK)


class Setting(Protocol):
    """The room of the rows, and the sizes of letters."""

    @property
    def heading(self) -> Room:
        """The room of a heading, of a picture, and of a name that stands alone."""

    @property
    def text(self) -> Room:
        """The room of fixed text."""

    def letters(self, size: Size) -> int:
        """The size of letters."""

    def high(self, size: Size) -> int:
        """How many lines high a row of these letters is."""

    def picture_width(self, lines: int, proportion: Fraction) -> int:
        """How wide a picture is that is so many lines high; proportion: of width to height."""

    def indent(self, letters: int) -> int:
        """How far a name that goes on is indented."""

    def gutter(self, widest_role: int) -> tuple[Room, Room]:
        """The rooms of roles and names."""

    def columns(self, count: int, widest: int | None) -> tuple[Room, ...]:
        """The rooms of so many columns. widest: the width of the widest name; None: most room."""


class Card(NamedTuple):
    """A section that stands still.

    ``number``: from 1. ``after``: behind how many lines of the roll it stands.
    """

    number: int
    heading: str
    rows: tuple[SetRow, ...]
    seconds: Fraction
    after: int

    @property
    def lines(self) -> int:
        """How many lines high it is."""
        return lines_of(self.rows)


@dataclass(frozen=True, slots=True, kw_only=True)
class SetSection:
    """A section as it is set.

    ``again``: the heading where it goes on over a page. ``card``: its number, 0 where it rolls.
    ``remarks``: what was set otherwise than asked; ``problems``: what does not fit.
    """

    section: Section
    heading: tuple[SetRow, ...]
    again: tuple[SetRow, ...]
    rows: tuple[SetRow, ...]
    card: int = 0
    remarks: tuple[Finding, ...] = ()
    problems: tuple[Finding, ...] = ()

    @property
    def all_rows(self) -> tuple[SetRow, ...]:
        """The heading and what stands under it."""
        return (*self.heading, *self.rows)


@dataclass(frozen=True, slots=True, kw_only=True)
class SetCredits:
    """All sections as they are set, in their order."""

    sections: tuple[SetSection, ...]

    @property
    def roll(self) -> tuple[SetRow, ...]:
        """The rows of the roll, with the empty ones between sections. Cards are not among them."""
        rows: list[SetRow] = []
        for each in self.sections:
            if not each.card:
                rows += (*([BLANK] * each.section.space if rows else ()), *each.all_rows)
        return tuple(rows)

    @property
    def lines(self) -> int:
        """How many lines the roll has."""
        return lines_of(self.roll)

    @property
    def cards(self) -> tuple[Card, ...]:
        """The cards, in their order."""
        return tuple(self._cards())

    def _cards(self) -> Iterator[Card]:
        done = 0
        for each in self.sections:
            section, rows = each.section, each.all_rows
            if each.card:
                heading = one_line(section.heading)
                yield Card(each.card, heading, rows, seconds_to_read(section), done)
            else:
                done += lines_of(rows) + (section.space if done else 0)

    @property
    def remarks(self) -> tuple[Finding, ...]:
        """What is set otherwise than asked for: fewer columns, a word that is cut."""
        return tuple(remark for each in self.sections for remark in each.remarks)

    @property
    def problems(self) -> tuple[Finding, ...]:
        """The names that do not fit."""
        return tuple(problem for each in self.sections for problem in each.problems)


def lines_of(rows: Iterable[SetRow]) -> int:
    """How many lines high rows are together."""
    return sum(row.high for row in rows)


def one_line(text: str) -> str:
    """A text on one line: line breaks and control characters are spaces."""
    if text.isprintable():
        return text
    return "".join(" " if sign.isspace() or sign < " " or sign == "\x7f" else sign for sign in text)


def kept_lines(text: str) -> tuple[str, ...]:
    """The lines of a name: its line breaks are kept, other control characters are spaces."""
    lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    return tuple(spaced(line).strip(" ") for line in lines)


def spaced(text: str) -> str:
    """A text whose control characters are spaces; a no-break space stays what it is."""
    if text.isprintable():
        return text
    return "".join(" " if sign < " " or "\x7f" <= sign <= "\x9f" else sign for sign in text)


def columns_of(section: Section) -> int:
    """In how many columns the names stand: as many as are asked for, and have a name."""
    return max(1, min(section.columns, len(section.printed)))


def has_roles(section: Section) -> bool:
    """Whether the names stand on a gutter, opposite their roles."""
    if section.layout is Layout.CARD:
        return any(line.role for line in section.lines)
    return section.layout in WITH_ROLES


Printed = tuple[Line, ...]
"""The lines whose names stand on one printed line."""


def in_rows(names: Sequence[T], columns: int) -> tuple[tuple[T, ...], ...]:
    """Names in columns that are read down, row by row; the last columns may be shorter."""
    depth = -(-len(names) // columns)
    return tuple(tuple(names[at::depth]) for at in range(depth))


def role_of(printed: Printed) -> tuple[str, str]:
    """The role that a printed line stands under, and it in the plan's second language."""
    return printed[0].role or "", printed[0].role_also


def name_lines(printed: Printed, mark: str = "") -> tuple[Runs, ...]:
    """The names of a printed line, joined, with what stands beside them: a row for each kept line.

    mark: what stands behind a name whose spelling is not confirmed.
    """
    rows: list[Runs] = [()]
    for at, line in enumerate(printed):
        first, *more = kept_lines(line.name)
        joined = f" {spaced(line.joined)} " if at else ""
        rows[-1] = (*rows[-1], TextRun(joined + first))
        rows += [(TextRun(text),) for text in more]
        if mark and not line.confirmed:
            rows[-1] = (*rows[-1], TextRun(mark, marked=True))
        if line.note:
            rows[-1] = (*rows[-1], TextRun(beside(spaced(line.note).strip(" "))))
    return tuple(tuple(run for run in row if run.text) for row in rows)


def beside(note: str) -> str:
    """A note as it stands behind a name: words alone in brackets, else as it is written."""
    if not note:
        return ""
    if note[:1].isalnum():
        return f" ({note})"
    return note if note[:1] in (",", ";", ":") else f" {note}"


def name_text(printed: Printed, mark: str = "") -> str:
    """The names of a printed line as text, a line break for each kept one."""
    return "\n".join(plain(row) for row in name_lines(printed, mark))


def seconds_to_read(section: Section) -> Fraction:
    """How long a card is to stand: 0.2 s a word and 2 s, from ten words 3 s (BCAP guidance)."""
    roles = [role for role, _ in groupby(map(role_of, section.printed))]
    said = [section.heading, section.heading_also, *(text for role in roles for text in role)]
    said += [name_text(printed) for printed in section.printed]
    said += [line for block in blocks_of(section.text) for line in block.lines]
    words = sum(len(text.split()) for text in said)
    return words * SECONDS_A_WORD + (3 if words >= MANY_WORDS else 2)


_Broken = list[tuple[Runs, bool]]
"""The rows of a name; the second says whether it goes on from the row above."""


class _Remarks:
    """What is to be said of a section."""

    def __init__(self) -> None:
        self.remarks: list[Finding] = []
        self.problems: list[Finding] = []

    def add(self, other: _Remarks) -> None:
        self.remarks += other.remarks
        self.problems += other.problems


@dataclass(frozen=True, slots=True, kw_only=True)
class RowSetter:
    """Sets sections in rows.

    mark: what stands behind a name whose spelling is not confirmed. proportions: of the width to
    the height of each picture. cuts: whether a word that is wider than its room is cut.
    """

    setting: Setting
    ruler: Ruler
    mark: str = ""
    proportions: Mapping[str, Fraction] = field(default_factory=dict)
    two_levels: bool = False
    cuts: bool = True

    def set(self, credits: Credits) -> SetCredits:
        """Set all sections. Headings of two levels are told apart where the plan has both."""
        two = any(section.level > 1 for section in credits.sections)
        # All texts at once: a ruler that asks the typesetter remembers them.
        texts = dict.fromkeys(text for each in credits.sections for text in self._texts(each))
        self.ruler.widths(list(texts), self.setting.letters(Size.NORMAL))
        setter, sections, cards = replace(self, two_levels=two), [], 0
        for section in credits.sections:
            is_card = section.layout is Layout.CARD
            cards += is_card
            sections.append(setter.section(section, cards if is_card else 0))
        return SetCredits(sections=tuple(sections))

    def _texts(self, section: Section) -> Iterator[Runs]:
        for printed in section.printed:
            yield from name_lines(printed, self.mark)
            yield _role_runs(role_of(printed))
        yield from ((TextRun(line, strong=True),) for line in kept_lines(section.heading))
        for block in blocks_of(section.text):
            yield from map(_trimmed, block.parts)

    def section(self, section: Section, card: int = 0) -> SetSection:
        """Set one section. card: the number of the card that it is."""
        heading, again = self._heading(section), self._heading(section, CONTINUED)
        said, rows = _Remarks(), [*self._pictures(section)]
        if has_roles(section):
            rows += self._with_roles(section, said)
        elif section.lines:
            rows += self._in_columns(section, said)
        rows += self._text(section)
        return SetSection(
            section=section,
            heading=heading,
            again=again,
            rows=tuple(rows),
            card=card,
            remarks=tuple(said.remarks),
            problems=tuple(said.problems),
        )

    def _broken(self, runs: Runs, room: int, letters: int, indent: int = 0) -> tuple[Runs, ...]:
        return broken(runs, room, self.ruler, letters, indent, cuts=self.cuts)

    def _heading(self, section: Section, more: str = "") -> tuple[SetRow, ...]:
        if not section.heading:
            return ()
        usual, high = self.setting.letters(section.size), self.setting.high(section.size)
        room = self.setting.heading
        larger = usual * 4 // 3 if self.two_levels and section.level == 1 else usual
        said = ((section.heading, True, larger), (section.heading_also, False, usual))
        rows = []
        for text, strong, letters in said:
            for line in kept_lines(text) if text else ():
                whole = f"{line} {more}" if more and strong else line
                run = TextRun(whole, strong, emphasis=not strong)
                for runs in self._broken((run,), room.width, letters):
                    piece = Piece(runs, room)
                    rows.append(SetRow(LineKind.HEADING, (piece,), letters, high, keep=True))
        return tuple(rows)

    def _pictures(self, section: Section) -> Iterator[SetRow]:
        if not section.pictures:
            return
        room, gap = self.setting.heading, self.setting.indent(self.setting.letters(Size.NORMAL))

        def width(picture: Picture) -> int:
            proportion = self.proportions.get(picture.file, Fraction(1))
            return self.setting.picture_width(picture.lines, proportion)

        widths = list(map(width, section.pictures))
        left = room.left + (room.width - sum(widths) - gap * (len(widths) - 1)) // 2
        placed = []
        for picture, wide in zip(section.pictures, widths, strict=True):
            placed.append(PlacedPicture(picture.file, picture.shows, left, wide, picture.lines))
            left += wide + gap
        high = max(picture.lines for picture in section.pictures)
        yield SetRow(LineKind.PICTURES, high=high, keep=True, pictures=tuple(placed))

    # -- names

    def _name(self, printed: Printed, room: int, letters: int, said: _Remarks) -> _Broken:
        indent, rows = self.setting.indent(letters), _Broken()
        who = f" (person {printed[0].person})" if printed[0].person else ""
        hint = "Lower --line-height, or set the section in fewer columns."
        for line in name_lines(printed, self.mark):
            parts = self._broken(line, room, letters, indent)
            rows += [(part, at > 0) for at, part in enumerate(parts)]
            if is_cut(line, parts):
                what = f"has a word that is cut{who}: no row is wide enough for it"
                said.remarks.append(Finding(what, hint, value=plain(line)))
            widest = max(self.ruler.widths(parts, letters))
            if widest > room:
                what = f"is {widest} px wide{who}; its row has room for {room}"
                said.problems.append(Finding(what, hint, value=plain(line)))
        return rows

    def _width(self, name: _Broken, letters: int) -> int:
        """How wide a name is with its indented rows."""
        indent = self.setting.indent(letters)
        widths = self.ruler.widths([runs for runs, _ in name], letters)
        return max(
            (width + indent * goes_on for width, (_, goes_on) in zip(widths, name, strict=True)),
            default=0,
        )

    def _placed(self, name: _Broken, room: Room, column: int, person: str, letters: int) -> _Pieces:
        """Place the rows of a name: one that goes on stands as a block, indented in it."""
        if not any(goes_on for _, goes_on in name):
            return [Piece(runs, room, column, person) for runs, _ in name]
        whole, indent = self._width(name, letters), self.setting.indent(letters)
        left = room.left + ((room.width - whole) // 2 if room.align == "centre" else 0)
        to_left = direction("".join(plain(runs) for runs, _ in name)) == "rtl"
        pieces = []
        for runs, goes_on in name:
            offset = indent * goes_on
            own = Room(left + offset, whole - offset, "left")
            if to_left:
                own = Room(left, whole - offset, "right")
            pieces.append(Piece(runs, own, column, person, goes_on))
        return pieces

    def _with_roles(self, section: Section, said: _Remarks) -> Iterator[SetRow]:
        letters, high = self.setting.letters(section.size), self.setting.high(section.size)
        groups = [(role, list(own)) for role, own in groupby(section.printed, key=role_of)]
        texts = [_role_runs(role) for role, _ in groups]
        widest = max(self.ruler.widths(texts, letters), default=0)
        role_room, name_room = self.setting.gutter(widest)
        for role, own in groups:
            roles = [
                Piece(runs, role_room)
                for runs in self._broken(_role_runs(role), role_room.width, letters)
                if runs
            ]
            names: list[tuple[Piece, bool]] = []
            for printed in own:
                name = self._name(printed, name_room.width, letters, said)
                placed = self._placed(name, name_room, 1, printed[0].person, letters)
                names += [(piece, at + 1 < len(placed)) for at, piece in enumerate(placed)]
            for at, (role_piece, name_piece) in enumerate(zip_longest(roles, names)):
                pieces = (role_piece, name_piece[0] if name_piece else None)
                yield SetRow(
                    LineKind.ROLE,
                    tuple(piece for piece in pieces if piece is not None),
                    letters,
                    high,
                    keep=at + 1 < len(roles) or (name_piece is not None and name_piece[1]),
                    role=tuple(roles) if at >= len(roles) else (),
                )

    def _in_columns(self, section: Section, said: _Remarks) -> Iterator[SetRow]:
        letters, high = self.setting.letters(section.size), self.setting.high(section.size)
        wished = 1 if section.layout is Layout.CARD else columns_of(section)
        count, names = self._fitting(section.printed, wished, letters, said)
        if count < wished:
            what = f"is set in {count} of {wished} columns: its names are too wide for more"
            hint = f"Ask for {count}, or shorten the names."
            said.remarks.append(Finding(what, hint, value=section.heading))
        widest = max(self._width(name, letters) for name in names)
        rooms = self.setting.columns(count, widest)
        called = zip(names, (printed[0].person for printed in section.printed), strict=True)
        before: bool | None = None
        for row in in_rows(list(called), count):
            columns = [
                self._placed(name, room, column, person, letters)
                for column, ((name, person), room) in enumerate(zip(row, rooms, strict=False))
            ]
            depth = max(map(len, columns))
            # What has lines of its own, such as a song, is parted from its neighbours.
            of_lines = count == 1 and sum(not goes_on for _, goes_on in row[0][0]) > 1
            if before is not None and (of_lines or before):
                yield BLANK
            before = of_lines
            for at, pieces in enumerate(zip_longest(*columns)):
                beside = tuple(piece for piece in pieces if piece is not None)
                keep = at + 1 < depth
                yield SetRow(LineKind.NAMES, beside, letters, high, count, keep)

    def _fitting(
        self, names: Sequence[Printed], wished: int, letters: int, said: _Remarks
    ) -> tuple[int, list[_Broken]]:
        """The columns that the names fit into without being cut, and the names in these."""
        for count in range(wished, 0, -1):
            room = self.setting.columns(count, None)[0].width
            found = _Remarks()
            rows = [self._name(printed, room, letters, found) for printed in names]
            longest = max(_rows_of_a_line(name) for name in rows)
            fits = not found.remarks and not found.problems
            if count == 1 or (fits and longest <= MOST_ROWS_A_NAME):
                break
        said.add(found)
        return count, rows

    # -- fixed text

    def _text(self, section: Section) -> Iterator[SetRow]:
        letters, high = self.setting.letters(section.size), self.setting.high(section.size)
        room, before = self.setting.text, None
        for block in blocks_of(section.text):
            if (before is not None and not (before.item and block.item)) or (
                before is None and section.lines
            ):
                yield BLANK
            yield from self._block(block, room, letters, high)
            before = block

    def _block(self, block: TextBlock, room: Room, letters: int, high: int) -> Iterator[SetRow]:
        rows: list[Runs] = []
        for part in block.parts:
            runs = _trimmed(part)
            if block.heading:
                runs = tuple(run._replace(strong=True) for run in runs)
            rows += self._broken(runs, room.width, letters) if runs else [()]
        last = len(rows) - 1
        for at, runs in enumerate(rows):
            keep = block.heading or (at < last and at in (0, last - 1))
            pieces = (Piece(runs, room),) if runs else ()
            yield SetRow(LineKind.TEXT, pieces, letters, high, keep=keep)


def _role_runs(role: tuple[str, str]) -> Runs:
    """A role, with the same in the plan's second language behind it."""
    text = " / ".join(spaced(each) for each in role if each)
    return (TextRun(text),) if text else ()


_Pieces = list[Piece]


def _rows_of_a_line(name: _Broken) -> int:
    """How many rows the longest line of a name takes."""
    most = rows = 0
    for _, goes_on in name:
        rows = rows + 1 if goes_on else 1
        most = max(most, rows)
    return most


def _trimmed(runs: Runs) -> Runs:
    """The runs of a line without the spaces at its ends; its control characters are spaces."""
    kept = [run._replace(text=spaced(run.text)) for run in runs]
    if kept:
        kept[0] = kept[0]._replace(text=kept[0].text.lstrip(" "))
        kept[-1] = kept[-1]._replace(text=kept[-1].text.rstrip(" "))
    return tuple(run for run in kept if run.text)


def is_cut(line: Runs, parts: Sequence[Runs]) -> bool:
    """Whether hyphens were put into a text."""
    return sum(_letters(part) for part in parts) > _letters(line)


def _letters(runs: Runs) -> int:
    return len("".join(plain(runs).split()))
