"""The credits as a PDF."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby
from pathlib import Path
from typing import Any

import typst

from credits import files
from credits.billing import roll
from credits.billing.credits import Line, Section
from credits.billing.plan import Layout
from credits.editions import Edition
from credits.errors import Finding
from credits.formats.deliver.fonts import (
    INSTALL,
    SERIF,
    FontsAtHand,
    LettersMissingError,
    Needed,
    texts_needed,
)
from credits.formats.deliver.plain import Delivery
from credits.names import direction


@dataclass(frozen=True, slots=True)
class Typesetter:
    """Sets templates in the families that can write all of what is to be set."""

    fonts: FontsAtHand
    families: tuple[str, ...]

    @classmethod
    def for_texts(cls, folders: Sequence[Path], texts: Iterable[Needed], first: str) -> Typesetter:
        """Return one whose fonts have every letter of the texts. Raises LettersMissingError."""
        fonts = FontsAtHand.look(folders)
        return cls(fonts, fonts.families_for(texts, first))

    def _given(self, data: Mapping[str, object]) -> dict[str, Any]:
        inputs = json.dumps({**data, "fonts": self.families}, ensure_ascii=False)
        return {"font_paths": self.fonts.found, "sys_inputs": {"data": inputs}}

    def pdf(self, template: str, data: Mapping[str, object]) -> bytes:
        """Return a tagged PDF (PDF/UA-1): same data, same bytes. Raises LettersMissingError."""
        form: dict[str, Any] = {"format": "pdf", "pdf_standards": ["ua-1"], "timestamp": 0}
        try:
            made: bytes = typst.compile(_template(template), **form, **self._given(data))
        except typst.TypstError as error:
            if "could not be displayed" not in error.message:
                raise
            raise LettersMissingError(Finding(error.message, INSTALL)) from error
        return made

    def pictures(self, template: str, data: Mapping[str, object]) -> tuple[bytes, ...]:
        """Return a PNG for each page, a pixel for each point."""
        form: dict[str, Any] = {"format": "png", "ppi": 72.0}
        made: bytes | list[bytes] = typst.compile(_template(template), **form, **self._given(data))
        return (made,) if isinstance(made, bytes) else tuple(made)

    def widths(
        self, texts: Sequence[tuple[roll.LineKind, str]], size: int
    ) -> dict[tuple[roll.LineKind, str], int]:
        """Measure how wide each text is in letters of this size, in whole pixels rounded up."""
        items = [
            {"text": text, "direction": direction(text), "heading": kind is roll.LineKind.HEADING}
            for kind, text in texts
        ]
        given = self._given({"texts": items, "size": size})
        found = typst.query(_template("widths.typ"), "<widths>", field="value", one=True, **given)
        return dict(zip(texts, json.loads(found), strict=True))


def _template(name: str) -> Path:
    return files.shipped("site_templates") / "print" / name


UNCONFIRMED = "° The spelling is not confirmed yet."
LONGEST_WORD = 36
KEPT_TOGETHER, KEPT_TEXT = 16, 800  # rows and letters of a section that no page break parts
NO_SPACE = "\N{ZERO WIDTH SPACE}"
_OWN_WORDS = f"0123456789 /·, End credits Draft Proof Seal: abcdef {UNCONFIRMED}"


def typeset(text: str) -> dict[str, object]:
    """Return a text as templates take it; very long words may be broken."""
    words = roll.one_line(text).split(" ")
    breakable = " ".join(NO_SPACE.join(roll.pieces(word, LONGEST_WORD)) for word in words)
    return {"text": breakable, "direction": direction(text)}


def _name(line: Line, delivery: Delivery) -> dict[str, object]:
    marked = not line.confirmed and delivery.edition.sees(Edition.CREW)
    return {**typeset(line.name), "unconfirmed": marked}


def _rows(lines: Sequence[Line], delivery: Delivery) -> Iterator[dict[str, object]]:
    """Neighbours of one role stand under it once."""
    for role, own in groupby(lines, key=lambda line: line.role or ""):
        yield {"role": typeset(role), "names": [_name(line, delivery) for line in own]}


def _columns(section: Section, delivery: Delivery) -> Iterator[dict[str, object] | None]:
    columns = roll.columns_of(section)
    for row in roll.in_rows(section.lines, columns):
        yield from (_name(line, delivery) for line in row)
        yield from [None] * (columns - len(row))


def _run(run: roll.TextRun) -> dict[str, object]:
    signs = {"break": run.text == "\n", "strong": run.strong, "emphasis": run.emphasis}
    return {**typeset(run.text), **signs}


def _section(section: Section, delivery: Delivery) -> dict[str, object]:
    on_gutter = section.layout is Layout.CARD or roll.has_roles(section)
    in_columns = bool(section.lines) and not on_gutter
    kind = "card" if section.layout is Layout.CARD else "gutter" if on_gutter else "text"
    columns = roll.columns_of(section) if in_columns else 1
    rows = -(-len(section.lines) // columns)
    return {
        "heading": typeset(section.heading),
        "set": "columns" if in_columns else kind,
        "keep": rows <= KEPT_TOGETHER and len(section.text) <= KEPT_TEXT,
        "columns": columns,
        "rows": list(_rows(section.lines, delivery)) if on_gutter else [],
        "names": list(_columns(section, delivery)) if in_columns else [],
        "text": [
            {"heading": block.heading, "runs": [_run(run) for run in block.runs]}
            for block in roll.blocks_of(section.text)
        ],
    }


def proof_data(delivery: Delivery) -> dict[str, object]:
    """Return what the template of the proof is given."""
    sections = delivery.credits.sections
    lines = [line for section in sections for line in section.lines]
    plan = roll.one_line(delivery.credits.plan)
    people = len(delivery.credits.printed)
    unconfirmed = any(_name(line, delivery)["unconfirmed"] for line in lines)
    return {
        "document": f"{roll.one_line(delivery.title)}: end credits, {delivery.stand}",
        "title": typeset(delivery.title),
        "stand": delivery.stand,
        "data": f"{delivery.data}.",
        "counts": f"{len(lines):,} names, {people:,} people. Plan: {plan}.",
        "caution": delivery.caution,
        "remarks": [*([UNCONFIRMED] if unconfirmed else []), *filter(None, [delivery.sealed])],
        "sections": [_section(section, delivery) for section in sections],
    }


def credits_pdf(delivery: Delivery, folders: Sequence[Path]) -> bytes:
    """Return the proof as PDF: same delivery and fonts, same bytes. Raises LettersMissingError."""
    own = (delivery.caution, delivery.data, delivery.credits.plan, _OWN_WORDS)
    texts = [*(Needed(text, "the page itself") for text in own)]
    texts.append(Needed(roll.one_line(delivery.title), "the title"))
    texts.extend(texts_needed(delivery.credits))
    return Typesetter.for_texts(folders, texts, SERIF).pdf("proof.typ", proof_data(delivery))
