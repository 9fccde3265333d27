"""The credits as text."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from credits.billing.credits import Line, Section
from credits.billing.fixed_text import blocks_of, display_width, text_lines, wrapped
from credits.billing.plan import Layout
from credits.billing.roll import TEXT_COLUMNS, columns_of, has_roles, in_rows, one_line
from credits.formats.deliver.delivery import Delivery
from credits.names import direction

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
    space = " " * max(0, width - display_width(text))
    return f"{space}{_beside(text)}" if right else f"{_beside(text)}{space}"


def _centred(text: str) -> str:
    return " " * max(0, (WIDTH - display_width(text)) // 2) + text


def _name(line: Line, delivery: Delivery) -> str:
    mark = "" if line.confirmed or not delivery.shows_unconfirmed else f" {UNCONFIRMED}"
    return one_line(line.name) + mark


def _with_roles(section: Section, delivery: Delivery) -> Iterator[str]:
    roles = [one_line(line.role or "") for line in section.lines]
    width = min(LONGEST_ROLE, max(map(display_width, roles)))
    before = None
    for line, role in zip(section.lines, roles, strict=True):
        shown = list(wrapped("" if role == before else role, width))
        first, *rest = shown
        name = _name(line, delivery)
        yield _joined([_padded(first, width, right=True), GUTTER, _beside(name)])
        yield from (_joined([_padded(part, width, right=True)]) for part in rest)
        before = role


def _in_columns(section: Section, delivery: Delivery) -> Iterator[str]:
    widest = max(display_width(_name(line, delivery)) for line in section.lines)
    columns = min(columns_of(section), max(1, (WIDTH + len(GUTTER)) // (widest + len(GUTTER))))
    if columns == 1:
        yield from (_name(line, delivery) for line in section.lines)
        return
    width = (WIDTH + len(GUTTER)) // columns - len(GUTTER)
    for row in in_rows(section.lines, columns):
        yield _joined([_padded(_name(line, delivery), width) + GUTTER for line in row])


def _section(section: Section, delivery: Delivery) -> Iterator[str]:
    card = section.layout is Layout.CARD
    heading = one_line(section.heading)
    if heading:
        yield _centred(heading) if card else heading
        yield ""
    if has_roles(section) and not card:
        yield from _with_roles(section, delivery)
    elif card:
        for line in section.lines:
            if line.role:
                yield _centred(one_line(line.role))
            yield _centred(_name(line, delivery))
    elif section.lines:
        yield from _in_columns(section, delivery)
    if section.text:
        lines = text_lines(blocks_of(section.text), TEXT_COLUMNS)
        yield from (_centred(one_line(line)) if card else one_line(line) for line in lines)


def credits_text(delivery: Delivery) -> bytes:
    """Return the lines that print, as UTF-8 text of about 78 columns.

    Names that run from right to left are isolated where they share a line with others, so that
    the columns keep their order. Wide letters count two columns (UAX #11).
    """
    title = one_line(delivery.title)
    lines = [title, f"End credits. {delivery.stand}. {delivery.data}.", ""]
    lines += wrapped(delivery.caution, WIDTH)
    sections = delivery.credits.sections
    unconfirmed = any(not line.confirmed for section in sections for line in section.lines)
    if unconfirmed and delivery.shows_unconfirmed:
        lines += ["", f"{UNCONFIRMED} The spelling is not confirmed."]
    if not sections:
        lines += ["", "Nobody yet: nothing prints."]
    for section in sections:
        lines += ["", "", *_section(section, delivery)]
    return ("\n".join(lines) + "\n").encode("utf-8", "replace")
