"""The typesetter: a template of ``site_templates/print``, data as JSON, fonts that were looked at.

Texts reach the template as data, so nothing in a name is ever read as a command.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from credits import places
from credits.compute.roll_lines import LineKind
from credits.errors import Finding
from credits.exchange.fonts import INSTALL, FontsAtHand, LettersMissing, Needed
from credits.names import direction


@dataclass(frozen=True, slots=True)
class Typesetter:
    """Sets templates in the families that can write all of what is to be set."""

    fonts: FontsAtHand
    families: tuple[str, ...]

    @classmethod
    def for_texts(cls, folders: Sequence[Path], texts: Iterable[Needed], first: str) -> Typesetter:
        """A typesetter whose fonts have every letter of the texts. Raises LettersMissing."""
        fonts = FontsAtHand.look(folders)
        return cls(fonts, fonts.families_for(texts, first))

    def _inputs(self, data: Mapping[str, object]) -> dict[str, str]:
        return {"data": json.dumps({**data, "fonts": self.families}, ensure_ascii=False)}

    def pdf(self, template: str, data: Mapping[str, object]) -> bytes:
        """A tagged PDF (PDF/UA-1) without a date of its own: same data, same bytes.

        Raises LettersMissing where the typesetter finds no shape for a text after all.
        """
        import typst

        try:
            made: bytes = typst.compile(
                _template(template),
                format="pdf",
                font_paths=self.fonts.found,
                sys_inputs=self._inputs(data),
                pdf_standards=["ua-1"],
                timestamp=0,
            )
        except typst.TypstError as error:
            if "could not be displayed" not in error.message:
                raise
            raise LettersMissing(Finding(error.message, INSTALL)) from error
        return made

    def pictures(self, template: str, data: Mapping[str, object]) -> tuple[bytes, ...]:
        """A PNG for each page, a pixel for each point."""
        import typst

        made: bytes | list[bytes] = typst.compile(
            _template(template),
            format="png",
            ppi=72.0,
            font_paths=self.fonts.found,
            sys_inputs=self._inputs(data),
        )
        return (made,) if isinstance(made, bytes) else tuple(made)

    def widths(
        self, texts: Sequence[tuple[LineKind, str]], size: int
    ) -> dict[tuple[LineKind, str], int]:
        """How wide each text is in letters of this size, in whole pixels rounded up."""
        import typst

        items = [
            {
                "text": text,
                "direction": direction(text),
                "heading": kind is LineKind.HEADING,
            }
            for kind, text in texts
        ]
        found = typst.query(
            _template("widths.typ"),
            "<widths>",
            field="value",
            one=True,
            font_paths=self.fonts.found,
            sys_inputs=self._inputs({"texts": items, "size": size}),
        )
        return dict(zip(texts, json.loads(found), strict=True))


def _template(name: str) -> Path:
    return places.templates() / "print" / name
