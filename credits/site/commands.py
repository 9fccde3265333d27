"""Commands in a sentence, so that a page can set them as what is typed."""

from __future__ import annotations

import re

Said = tuple[tuple[str, bool], ...]
"""A sentence in pieces, and whether each is typed."""

_VERBS = "amend|answer|check|confirm|correct|cut|log|plan|roll|same|void|why"
# What is quoted, or a word up to the mark that ends it or the sentence.
_WORD = r"(?:'[^']*'|\"[^\"]*\"|[^\s,;()'\"]+?(?=[.,;)]*(?:\s|$)))"
_COMMAND = re.compile(rf"(?<!end )\b(credits (?:{_VERBS})\b(?: {_WORD})*)")


def with_commands(text: str) -> Said:
    """Part a sentence into what is said and what is typed."""
    pieces = _COMMAND.split(text)
    return tuple((piece, bool(at % 2)) for at, piece in enumerate(pieces) if piece)
