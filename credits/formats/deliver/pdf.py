"""The proof as a PDF: the rows of the roll and its cards on pages, as they roll in a picture."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Literal, NamedTuple

from credits.billing.setting.breaking import Ruler, broken, plain
from credits.billing.setting.fixed_text import TextRun
from credits.billing.setting.pages import CardFrame, PlacedRow, ProofPage, paged
from credits.billing.setting.roll import USUAL, does_not_fit
from credits.billing.setting.rows import LineKind, RowSetter, SetCredits, one_line
from credits.editions import Edition
from credits.errors import Finding
from credits.formats.deliver.fonts import SANS, Needed, texts_needed
from credits.formats.deliver.logos import Logos
from credits.formats.deliver.plain import Delivery
from credits.formats.deliver.typesetting import FontRuler, Typesetter, row_data, run_data
from credits.names import direction
from credits.units.rounding import decimal_text

UNCONFIRMED = "° The spelling is not confirmed yet."
MARK = "\N{DEGREE SIGN}"
NOBODY = "Nobody yet: nothing prints."
_OWN_WORDS = (
    "0123456789 /·(), End credits Draft Proof Card hold s (continued) Seal: abcdef"
    f" {UNCONFIRMED}{NOBODY}"
)
# An A4 page is as wide inside its margins as the title-safe picture, and this many lines high.
LINES_A_PAGE = 43
# Letters of the head of the first page, and how high its rows are, in pixels of the picture.
TITLE, TITLE_ROW = 100, 124
WORDS, WORDS_ROW = 44, 60
SMALL, SMALL_ROW = 32, 42
HEAD_TOP, HEAD_GAP = 60, 30
BOX = 1260  # the width of the caution
Ink = Literal["", "soft", "accent"]


class _Head(NamedTuple):
    """The head of the first page. ``rules``: where lines are drawn; ``lines``: how high it is."""

    pieces: list[dict[str, object]]
    rules: list[int]
    lines: int


class _HeadWriter:
    def __init__(self, ruler: Ruler) -> None:
        self._ruler, self._top = ruler, HEAD_TOP
        self.pieces: list[dict[str, object]] = []
        self.rules: list[int] = []

    def say(
        self, text: str, letters: int, high: int, ink: Ink = "", *, strong: bool = False,
        level: int = 0, width: int = USUAL.title_safe[0],
    ) -> None:  # fmt: skip
        """Write a text in the middle, in as many rows as it takes."""
        rows = broken((TextRun(one_line(text), strong),), width, self._ruler, letters)
        for at, runs in enumerate(rows):
            self.pieces.append(
                {
                    "runs": run_data(runs),
                    "direction": direction(plain(runs)),
                    "left": USUAL.left + (USUAL.title_safe[0] - width) // 2,
                    "width": width,
                    "align": "centre",
                    "size": letters,
                    "baseline": self._top + (high + letters * 5 // 7) // 2,
                    "ink": ink,
                    "level": 0 if at else level,
                    "whole": one_line(text),
                }
            )
            self._top += high

    def gap(self, pixels: int = HEAD_GAP) -> None:
        self._top += pixels

    def rule(self) -> None:
        self._top += HEAD_GAP // 2
        self.rules.append(self._top)
        self._top += HEAD_GAP // 2

    def done(self) -> _Head:
        self.gap()
        return _Head(self.pieces, self.rules, -(-self._top // USUAL.pitch))


def _head(delivery: Delivery, ruler: Ruler) -> _Head:
    sections = delivery.credits.sections
    lines = [line for section in sections for line in section.lines]
    people, plan = len(delivery.credits.printed), one_line(delivery.credits.plan)
    writer = _HeadWriter(ruler)
    writer.say(delivery.title, TITLE, TITLE_ROW, level=1)
    writer.gap()
    writer.say("End credits", WORDS, WORDS_ROW)
    writer.say(delivery.stand, WORDS, WORDS_ROW, "accent", strong=True)
    writer.say(f"{delivery.data}.", SMALL, SMALL_ROW, "soft")
    counts = f"{len(lines):,} names, {people:,} people. Plan: {plan}."
    writer.say(counts, SMALL, SMALL_ROW, "soft")
    writer.rule()
    writer.say(delivery.caution, SMALL, SMALL_ROW, width=BOX)
    if any(not line.confirmed for line in lines) and _marks(delivery):
        writer.say(UNCONFIRMED, SMALL, SMALL_ROW, width=BOX)
    if delivery.sealed:
        writer.say(delivery.sealed, SMALL, SMALL_ROW, width=BOX)
    writer.rule()
    if not sections:
        writer.gap()
        writer.say(NOBODY, USUAL.size, USUAL.pitch)
    return writer.done()


def _marks(delivery: Delivery) -> bool:
    return delivery.edition.sees(Edition.CREW)


def _placed(placed: PlacedRow, logos: Logos, level: int) -> Iterator[dict[str, object]]:
    row = placed.row
    for at, piece in enumerate(row_data(row, placed.top * USUAL.pitch, USUAL, logos)):
        ink: Ink = ""
        if row.kind is LineKind.HEADING:
            ink = "accent"
        elif row.kind is LineKind.ROLE and row.pieces[at].column == 0:
            ink = "soft"
        whole = one_line(placed.begins.heading) if placed.begins is not None else ""
        yield {**piece, "ink": ink, "level": level, "whole": whole}


def _levels(pages: Sequence[ProofPage]) -> Iterator[int]:
    """The level of the heading of each row in the outline; 0: the row begins none.

    The title of the film is of level 1, and no level is left out.
    """
    deepest = 1
    for page in pages:
        for placed in page.rows:
            level = 0
            if placed.begins is not None:
                level = min(placed.begins.level + 1, deepest + 1)
            deepest = max(deepest, level)
            yield level


def _frame(frame: CardFrame, holds: Sequence[str]) -> dict[str, object]:
    return {
        "top": frame.top * USUAL.pitch,
        "height": frame.lines * USUAL.pitch,
        "label": f"Card {frame.number}, hold {holds[frame.number - 1]} s",
    }


def set_proof(delivery: Delivery, ruler: Ruler, logos: Logos | None = None) -> SetCredits:
    """Set the rows of the proof: those of the roll, with marks that hang behind names."""
    proportions = logos.proportions if logos is not None else {}
    mark = MARK if _marks(delivery) else ""
    setter = RowSetter(setting=USUAL, ruler=ruler, mark=mark, proportions=proportions)
    return setter.set(delivery.credits)


def proof_data(delivery: Delivery, ruler: Ruler, logos: Logos | None = None) -> dict[str, object]:
    """Return what the template of the proof is given."""
    made, head = set_proof(delivery, ruler, logos), _head(delivery, ruler)
    first = max(0, LINES_A_PAGE - head.lines)
    pages = paged(made, first, LINES_A_PAGE)
    levels = _levels(pages)
    holds = [decimal_text(card.seconds, 1) for card in made.cards]
    shown = []
    for at, page in enumerate(pages):
        down = head.lines * USUAL.pitch if at == 0 else 0
        frames = {frame.top: _frame(frame, holds) for frame in page.frames}
        pieces: list[dict[str, object]] = []
        for placed in page.rows:
            # A frame comes before what stands in it, as one reads.
            for top in [top for top in frames if top <= placed.top]:
                pieces.append(frames.pop(top))
            pieces += _placed(placed, logos or Logos(), next(levels))
        shown.append({"down": down, "pieces": [*pieces, *frames.values()]})
    return {
        "document": f"{one_line(delivery.title)}: end credits, {delivery.stand}",
        "title": one_line(delivery.title),
        "direction": direction(delivery.title),
        "stand": delivery.stand,
        "caution": delivery.caution,
        "left": USUAL.left,
        "safe": USUAL.title_safe[0],
        "head": {"pieces": head.pieces, "rules": head.rules, "width": BOX},
        "pages": shown,
    }


class PrintedProof(NamedTuple):
    """The PDF, and what is set otherwise than asked for or does not fit."""

    content: bytes
    remarks: tuple[Finding, ...]


def printed_proof(
    delivery: Delivery, folders: Sequence[Path], logos: Logos | None = None
) -> PrintedProof:
    """Set the proof: same delivery and fonts, same bytes. Raises LettersMissingError."""
    own = (delivery.caution, delivery.data, delivery.credits.plan, _OWN_WORDS)
    texts = [*(Needed(text, "the page itself") for text in own)]
    texts.append(Needed(one_line(delivery.title), "the title"))
    texts.extend(texts_needed(delivery.credits))
    typesetter = Typesetter.for_texts(folders, texts, SANS)
    ruler = FontRuler(typesetter)
    made = set_proof(delivery, ruler, logos)
    content = typesetter.pdf("proof.typ", proof_data(delivery, ruler, logos), logos)
    return PrintedProof(content, (*made.remarks, *does_not_fit(made, USUAL)))


def credits_pdf(delivery: Delivery, folders: Sequence[Path], logos: Logos | None = None) -> bytes:
    """Return the proof as PDF."""
    return printed_proof(delivery, folders, logos).content
