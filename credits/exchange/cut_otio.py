"""The cut as an OpenTimelineIO file (``.otio``)."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

from credits.errors import Finding, Place, ProblemsFound
from credits.exchange.cut_film import FilmReader
from credits.exchange.cut_otio_shape import misshapen
from credits.exchange.cut_parts import CutAsked, CutRead
from credits.exchange.cut_timeline import TimelineReader
from credits.exchange.reading import file_bytes

_INF = re.compile(r'("(?:[^"\\]|\\.)*")|\bInf\b')  # not within a text


def read_cut_otio(path: Path, asked: CutAsked) -> CutRead:
    """The clips of the timeline in the file. Raises ProblemsFound."""
    root = _timeline(_read(path), path.name)
    reader = TimelineReader(path.name, asked.rate)
    part = reader.read(root)
    return FilmReader(path.name, asked).read(part, tuple(reader.notes))


def _read(path: Path) -> Any:
    """Whatever the file holds, as OpenTimelineIO reads it. Raises ProblemsFound."""
    import opentimelineio as otio

    text = _text(path)
    _require_json(text, path.name)
    try:
        return otio.core.deserialize_json_from_string(text)
    except (otio.exceptions.OTIOError, ValueError, LookupError, TypeError, RuntimeError) as error:
        words = str(error).strip("'\"").splitlines()
        what = f"OpenTimelineIO cannot read it ({words[0] if words else type(error).__name__})"
        hint = "Ask the editors to save it again."
        raise ProblemsFound(Finding(what, hint, Place(path.name))) from None


def _text(path: Path) -> str:
    try:
        text = file_bytes(path).decode("utf-8-sig")
    except UnicodeDecodeError:
        what = "is not an .otio file: it is not UTF-8 text"
        raise ProblemsFound(Finding(what, "", Place(path.name))) from None
    if not text.strip():
        raise ProblemsFound(Finding("is empty", "", Place(path.name)))
    return text


def _require_json(text: str, file: str) -> None:
    """Raises ProblemsFound when the text is damaged, or nested without end.

    It is read as plain JSON before OpenTimelineIO has it: on damaged or bottomless text that can
    take the whole program down. ``Inf`` is how OpenTimelineIO writes what others write Infinity.
    """
    try:
        try:
            read = json.loads(text)
        except json.JSONDecodeError:
            read = json.loads(_INF.sub(lambda match: match[1] or "Infinity", text))
        if odd := misshapen(read):
            what = f"is not an .otio file: {odd[1]} of a {odd[0]} is not what it has to be"
            raise ProblemsFound(Finding(what, "Ask the editors to save it again.", Place(file)))
    except json.JSONDecodeError as error:
        hint = "Ask the editors to save it again."
        what = f"is not an .otio file: {error.msg}"
        raise ProblemsFound(Finding(what, hint, Place(file, error.lineno))) from None
    except RecursionError:
        raise ProblemsFound(Finding("is nested too deep to be read", "", Place(file))) from None
    except ValueError as error:  # a number of thousands of digits
        raise ProblemsFound(Finding(f"is not an .otio file ({error})", "", Place(file))) from None


def _timeline(root: Any, file: str) -> Any:
    """The timeline of a file: what it holds, or the only timeline in its collection."""
    import opentimelineio as otio

    schema = otio.schema
    found = [root]
    if isinstance(root, schema.SerializableCollection):
        found = [item for item in root if isinstance(item, schema.Timeline)]
    if len(found) == 1 and isinstance(found[0], schema.Timeline | otio.core.Item):
        return found[0]
    what = f"holds {len(found)} timelines" if len(found) > 1 else "holds no timeline"
    hint = "Ask the editors for a file with the timeline of the film alone."
    raise ProblemsFound(Finding(what, hint, Place(file)))
