"""Setting texts by templates: fonts that have every letter, widths, rows of the credits."""

from __future__ import annotations

import json
import shutil
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import typst

from credits import files
from credits.billing.setting.breaking import Runs, columns_of_sign, plain
from credits.billing.setting.roll import RollSetting
from credits.billing.setting.rows import Piece, SetRow, one_line
from credits.errors import Finding
from credits.formats.deliver.fonts import INSTALL, FontsAtHand, LettersMissingError, Needed
from credits.formats.deliver.logos import Logos
from credits.names import direction
from credits.temporary import own_folder

LONGEST_WORD = 36
NO_SPACE = "\N{ZERO WIDTH SPACE}"
MEASURED_AT = 1000  # widths are measured in letters of this size; other sizes follow from it


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

    def pdf(self, template: str, data: Mapping[str, object], logos: Logos | None = None) -> bytes:
        """Return a tagged PDF (PDF/UA-1): same data, same bytes. Raises LettersMissingError."""
        form: dict[str, Any] = {"format": "pdf", "pdf_standards": ["ua-1"], "timestamp": 0}
        try:
            with _templates(logos) as folder:
                made: bytes = typst.compile(folder / template, **form, **self._given(data))
        except typst.TypstError as error:
            if "could not be displayed" not in error.message:
                raise
            raise LettersMissingError(Finding(error.message, INSTALL)) from error
        return made

    def pictures(
        self, template: str, data: Mapping[str, object], logos: Logos | None = None
    ) -> tuple[bytes, ...]:
        """Return a PNG for each page, a pixel for each point."""
        form: dict[str, Any] = {"format": "png", "ppi": 72.0}
        with _templates(logos) as folder:
            made: bytes | list[bytes] = typst.compile(
                folder / template, **form, **self._given(data)
            )
        return (made,) if isinstance(made, bytes) else tuple(made)

    def end(self, template: str, data: Mapping[str, object]) -> tuple[int, float]:
        """Return the last page of a template that marks its ``<end>``, and how far down it ends.

        In millimetres from the upper edge.
        """
        path = files.shipped("site_templates") / "print" / template
        found = typst.query(path, "<end>", field="value", one=True, **self._given(data))
        end = json.loads(found)
        return int(end["page"]), float(end["down"])

    def measured(self, texts: Sequence[Runs]) -> list[int]:
        """Measure how wide texts are in letters of the size MEASURED_AT, rounded up."""
        items = [{"runs": run_data(text), "direction": direction(plain(text))} for text in texts]
        given = self._given({"texts": items, "size": MEASURED_AT})
        template = files.shipped("site_templates") / "print" / "widths.typ"
        found = typst.query(template, "<widths>", field="value", one=True, **given)
        widths: list[int] = json.loads(found)
        return widths


@contextmanager
def _templates(logos: Logos | None) -> Iterator[Path]:
    """The folder of the templates; a copy beside which the pictures lie, where there are any."""
    shipped = files.shipped("site_templates") / "print"
    if logos is None or not logos.pictures:
        yield shipped
        return
    with own_folder() as beside:
        for template in sorted(shipped.glob("*.typ")):
            shutil.copyfile(template, beside / template.name)
        for logo in logos.pictures.values():
            (beside / logo.name).write_bytes(logo.content)
        yield beside


@dataclass(slots=True)
class FontRuler:
    """Measures with the fonts in which texts are set; what was measured once is remembered."""

    typesetter: Typesetter
    _known: dict[Runs, int] = field(default_factory=dict)

    def widths(self, texts: Sequence[Runs], letters: int) -> Sequence[int]:
        """Return the widths of texts in letters of a size, in whole pixels rounded up."""
        new = [text for text in dict.fromkeys(texts) if text not in self._known]
        if new:
            self._known.update(zip(new, self.typesetter.measured(new), strict=True))
        return [-(-self._known[text] * letters // MEASURED_AT) for text in texts]


def run_data(runs: Runs) -> list[dict[str, object]]:
    """Return runs as templates take them."""
    return [
        {
            "text": run.text,
            "strong": run.strong,
            "emphasis": run.emphasis,
            "marked": run.marked,
        }
        for run in runs
    ]


def piece_data(piece: Piece, row: SetRow, top: int, setting: RollSetting) -> dict[str, object]:
    """Return a piece as templates take it. top: the upper edge of its row, in pixels."""
    return {
        "runs": run_data(piece.runs),
        "direction": direction(piece.text),
        "left": piece.room.left,
        "width": piece.room.width,
        "align": piece.room.align,
        "size": row.letters,
        "baseline": top + setting.baseline(row),
    }


def row_data(
    row: SetRow, top: int, setting: RollSetting, logos: Logos | None
) -> list[dict[str, object]]:
    """Return the pieces and the pictures of a row as templates take them."""
    pieces = [piece_data(piece, row, top, setting) for piece in row.pieces]
    for placed in row.pictures:
        logo = logos.pictures.get(placed.file) if logos is not None else None
        if logo is not None:
            height = placed.lines * setting.pitch
            pieces.append(
                {
                    "picture": logo.name,
                    "shows": placed.shows or one_line(placed.file),
                    "left": placed.left,
                    "top": top + (row.high * setting.pitch - height) // 2,
                    "width": placed.width,
                    "height": height,
                }
            )
    return pieces


def typeset(text: str) -> dict[str, object]:
    """Return a text as templates take it that break it themselves; long words may be broken."""
    words = one_line(text).split(" ")
    breakable = " ".join(NO_SPACE.join(_pieces(word)) for word in words)
    return {"text": breakable, "direction": direction(text)}


def _pieces(word: str) -> Iterator[str]:
    """A word in pieces of so many columns at most; marks stay with their letter."""
    held, width = "", 0
    for sign in word:
        own = columns_of_sign(sign)
        if own and held and width + own > LONGEST_WORD:
            yield held
            held, width = "", 0
        held += sign
        width += own
    yield held
