"""A review on paper: one person's figures as a tagged PDF."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from credits.compute.expectation_words import TITLE
from credits.compute.review_shown import ShownTable
from credits.compute.roll_lines import one_line
from credits.exchange.fonts import SERIF, Needed
from credits.exchange.review_sheet import ReviewSheet
from credits.exchange.typeset import Typesetter
from credits.names import direction

FIGURES = "The figures"
WAITS = "Waits for repairs"
WAIT_HEADS = ("Day", "Puppet", "Part", "Shot", "Minutes")
FIGURE_HEADS = ("Figure", "This review", "The others, same weeks")
EFFECT_HEADS = ("What changes", "Pace", "In nine of ten cases")
_OWN_LETTERS = "0123456789 ,.%×–/·+ Review"


def _text(text: str) -> dict[str, object]:
    shown = one_line(text)
    return {"text": shown, "direction": direction(shown)}


def _table(
    caption: str, heads: Sequence[str], rows: Sequence[Sequence[str]], names: int, total: bool
) -> dict[str, object]:
    """A table: its first ``names`` columns hold words, the others figures; ``total``: last row."""
    return {
        "caption": caption,
        "heads": list(heads),
        "rows": [[_text(cell) for cell in row] for row in rows],
        "names": names,
        "total": total,
    }


def _shown(caption: str, first: str, nothing: str, shown: ShownTable) -> dict[str, object]:
    with_shots = any(row.shots for row in shown.rows)

    def cells(key: str, figures: Sequence[str], shots: Sequence[str]) -> tuple[str, ...]:
        return (key, *([", ".join(shots)] if with_shots else []), *figures)

    rows = [cells(nothing if r.key is None else r.key, r.cells, r.shots) for r in shown.rows]
    if shown.total:
        rows.append(cells("together", shown.total, ()))
    heads = (first, *(["Shots"] if with_shots else []), *shown.heads)
    return _table(caption, heads, rows, 1 + with_shots, bool(shown.total))


def _tables(sheet: ReviewSheet) -> list[dict[str, object]]:
    shown = sheet.shown
    tables = [
        _shown("Frames by week", "Week", "undated", shown.footage_by_week),
        _shown("Days and pace by week", "Week", "undated", shown.days_by_week),
        _shown("Frames by shot", "Shot", "no one shot", shown.footage_by_shot),
        _shown("Days and pace by shot", "Shot", "no one shot", shown.days_by_shot),
        _shown("The person's own earlier periods", "Days", "", shown.earlier),
        _table(WAITS, WAIT_HEADS, sheet.waits, 4, False),
    ]
    return [table for table in tables if table["rows"]]


def _data(sheet: ReviewSheet) -> dict[str, object]:
    expectation = sheet.expectation
    figures = [
        (f.name, f"{f.value} ({f.detail})" if f.detail else f.value, f.unit)
        for f in sheet.shown.figures
    ]
    return {
        "document": f"{one_line(sheet.film)}: review of {one_line(sheet.name)}",
        "film": _text(sheet.film),
        "name": _text(sheet.name),
        "period": f"{sheet.period}. {sheet.shown.takes}.",
        "data": sheet.data,
        "caution": sheet.caution,
        "others": sheet.others,
        "figures": _table(FIGURES, FIGURE_HEADS, figures, 1, False),
        "model": {
            "title": TITLE,
            "said": list(expectation.said) if expectation is not None else [],
            "effects": _table(TITLE, EFFECT_HEADS, expectation.effects, 1, False)
            if expectation is not None and expectation.effects
            else None,
        },
        "tables": _tables(sheet),
    }


def review_pdf(sheet: ReviewSheet, folders: Sequence[Path]) -> bytes:
    """The review as PDF: same sheet and fonts, same bytes.

    ``folders``: where fonts are. Raises LettersMissing for letters that none of them has.
    """
    own = (sheet.caution, sheet.others, sheet.data, sheet.period, _OWN_LETTERS)
    texts = [*(Needed(text, "the page itself") for text in own), *sheet.texts]
    return Typesetter.for_texts(folders, texts, SERIF).pdf("review.typ", _data(sheet))
