"""The printed proof: the end credits as a tagged PDF."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby
from pathlib import Path

from credits.compute.credit_lines import Line, Section
from credits.compute.credit_plan import Layout
from credits.compute.fixed_text import Block, Run, blocks_of, pieces
from credits.compute.roll_lines import columns_of, has_roles, in_rows, one_line
from credits.exchange.delivery import Delivery, texts_needed
from credits.exchange.fonts import SERIF, Needed
from credits.exchange.typeset import Typesetter
from credits.names import direction

UNCONFIRMED = "° The spelling is not confirmed yet."
LONGEST_WORD = 36
KEPT_TOGETHER, KEPT_TEXT = 16, 800  # rows and letters of a section that no page break parts
NO_SPACE = "\N{ZERO WIDTH SPACE}"
_OWN_WORDS = f"0123456789 /·, End credits Draft Proof {UNCONFIRMED}"


def _text(text: str) -> dict[str, object]:
    """A text as the template takes it; very long words may be broken."""
    words = (NO_SPACE.join(pieces(word, LONGEST_WORD)) for word in one_line(text).split(" "))
    return {"text": " ".join(words), "direction": direction(text)}


def _name(line: Line, delivery: Delivery) -> dict[str, object]:
    marked = delivery.shows_unconfirmed and not line.confirmed
    return {**_text(line.name), "unconfirmed": marked}


def _rows(lines: Sequence[Line], delivery: Delivery) -> Iterator[dict[str, object]]:
    """Neighbours of one role stand under it once."""
    for role, own in groupby(lines, key=lambda line: line.role or ""):
        yield {"role": _text(role), "names": [_name(line, delivery) for line in own]}


def _columns(section: Section, delivery: Delivery) -> Iterator[dict[str, object] | None]:
    columns = columns_of(section)
    for row in in_rows(section.lines, columns):
        yield from (_name(line, delivery) for line in row)
        yield from [None] * (columns - len(row))


def _run(run: Run) -> dict[str, object]:
    return {
        **_text(run.text),
        "break": run.text == "\n",
        "strong": run.strong,
        "emphasis": run.emphasis,
    }


def _block(block: Block) -> dict[str, object]:
    return {"heading": block.heading, "runs": [_run(run) for run in block.runs]}


def _section(section: Section, delivery: Delivery) -> dict[str, object]:
    card = section.layout is Layout.CARD
    on_gutter = has_roles(section)
    kind = "card" if card else "gutter" if on_gutter else "columns" if section.lines else "text"
    in_rows_of_roles = card or on_gutter
    rows = -(-len(section.lines) // (columns_of(section) if kind == "columns" else 1))
    return {
        "heading": _text(section.heading),
        "set": kind,
        "keep": rows <= KEPT_TOGETHER and len(section.text) <= KEPT_TEXT,
        "columns": columns_of(section) if kind == "columns" else 1,
        "rows": list(_rows(section.lines, delivery)) if in_rows_of_roles else [],
        "names": list(_columns(section, delivery)) if kind == "columns" else [],
        "text": [_block(block) for block in blocks_of(section.text)] if section.text else [],
    }


def proof_data(delivery: Delivery) -> dict[str, object]:
    """What the template of the proof is given."""
    sections = delivery.credits.sections
    lines = [line for section in sections for line in section.lines]
    plan = one_line(delivery.credits.plan)
    people = len({line.person for line in lines})
    unconfirmed = delivery.shows_unconfirmed and any(not line.confirmed for line in lines)
    return {
        "document": f"{one_line(delivery.title)}: end credits, {delivery.stand}",
        "title": _text(delivery.title),
        "stand": delivery.stand,
        "data": f"{delivery.data}.",
        "counts": f"{len(lines):,} names, {people:,} people. Plan: {plan}.",
        "caution": delivery.caution,
        "remarks": [UNCONFIRMED] if unconfirmed else [],
        "sections": [_section(section, delivery) for section in sections],
    }


def credits_pdf(delivery: Delivery, folders: Sequence[Path]) -> bytes:
    """The proof as PDF: same delivery and fonts, same bytes.

    ``folders``: where fonts are. Raises LettersMissing for letters that none of them has.
    """
    own = (delivery.caution, delivery.data, delivery.credits.plan, _OWN_WORDS)
    texts = [*(Needed(text, "the page itself") for text in own)]
    texts.append(Needed(one_line(delivery.title), "the title"))
    texts.extend(texts_needed(delivery.credits))
    typesetter = Typesetter.for_texts(folders, texts, SERIF)
    return typesetter.pdf("proof.typ", proof_data(delivery))
