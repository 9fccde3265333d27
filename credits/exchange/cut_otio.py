"""The cut as an OpenTimelineIO file (``.otio``)."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from credits.errors import Finding, Place, ProblemsFound
from credits.exchange.cut_film import FilmReader
from credits.exchange.cut_parts import CutAsked, CutRead
from credits.exchange.cut_timeline import TimelineReader
from credits.exchange.reading import file_bytes


def read_cut_otio(path: Path, asked: CutAsked) -> CutRead:
    """The clips of the timeline in the file. Raises ProblemsFound."""
    root = _timeline(_read(path), path.name)
    reader = TimelineReader(path.name, asked.rate)
    part = reader.read(root)
    return FilmReader(path.name, asked).read(part, tuple(reader.notes))


def _read(path: Path) -> Any:
    """Whatever the file holds, as OpenTimelineIO reads it. Raises ProblemsFound.

    The text is read as plain JSON first: that says where it is damaged, and it bounds how deep it
    is nested, which OpenTimelineIO does not.
    """
    import opentimelineio as otio

    place = Place(path.name)
    data = file_bytes(path)
    try:
        text = data.decode("utf-8-sig")
        json.loads(text)
    except UnicodeDecodeError:
        raise ProblemsFound(
            Finding("is not an .otio file: it is not UTF-8 text", "", place)
        ) from None
    except json.JSONDecodeError as error:
        what = "is empty" if not text.strip() else f"is not an .otio file: {error.msg}"
        mend = "Ask the editors to save it again."
        raise ProblemsFound(Finding(what, mend, Place(path.name, error.lineno))) from None
    except RecursionError:
        raise ProblemsFound(Finding("is nested too deep to be read", "", place)) from None
    except ValueError as error:
        raise ProblemsFound(Finding(f"is not an .otio file ({error})", "", place)) from None
    try:
        return otio.core.deserialize_json_from_string(text)
    except (otio.exceptions.OTIOError, ValueError, LookupError, TypeError, RuntimeError) as error:
        words = str(error).strip("'\"").splitlines()
        what = f"OpenTimelineIO cannot read it ({words[0] if words else type(error).__name__})"
        mend = "Ask the editors to save it again."
        raise ProblemsFound(Finding(what, mend, place)) from None


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
    mend = "Ask the editors for a file with the timeline of the film alone."
    raise ProblemsFound(Finding(what, mend, Place(file)))
