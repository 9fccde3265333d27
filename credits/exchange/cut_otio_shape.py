"""Whether plain JSON has the shape of OpenTimelineIO objects.

The library takes the program down on some objects of another shape; so they are looked at first.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

_SCHEMA = "OTIO_SCHEMA"


def _object(value: Any) -> bool:
    return isinstance(value, dict) and isinstance(value.get(_SCHEMA), str)


def _object_or_none(value: Any) -> bool:
    return value is None or _object(value)


def _objects(value: Any) -> bool:
    return isinstance(value, list) and all(map(_object, value))


def _named_objects(value: Any) -> bool:
    return isinstance(value, dict) and all(map(_object_or_none, value.values()))


def _number(value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


def _plain(value: Any) -> bool:
    return value is None or (isinstance(value, dict) and _SCHEMA not in value)


SHAPES: dict[str, Callable[[Any], bool]] = {
    "children": _objects,
    "effects": lambda value: value is None or _objects(value),
    "markers": lambda value: value is None or _objects(value),
    "tracks": _object_or_none,
    "media_reference": _object_or_none,
    "media_references": _named_objects,
    "source_range": _object_or_none,
    "available_range": _object_or_none,
    "marked_range": _object_or_none,
    "global_start_time": _object_or_none,
    "start_time": _object,
    "duration": _object,
    "in_offset": _object_or_none,
    "out_offset": _object_or_none,
    "metadata": _plain,
    "name": lambda value: value is None or isinstance(value, str),
    "kind": lambda value: isinstance(value, str),
    "value": _number,
    "rate": _number,
    "time_scalar": _number,
}


def misshapen(root: Any) -> tuple[str, str] | None:
    """The first object and key that has another shape than OpenTimelineIO gives it, or None.

    Metadata is not looked into: anything may stand there.
    """
    waiting = [root]
    while waiting:
        value = waiting.pop()
        if isinstance(value, list):
            waiting.extend(value)
        elif isinstance(value, dict):
            if _SCHEMA in value:
                for key, fits in SHAPES.items():
                    if key in value and not fits(value[key]):
                        return str(value[_SCHEMA]), key
            waiting.extend(inner for key, inner in value.items() if key != "metadata")
    return None
