"""Where templates, migrations and the example lie: in an installed wheel or in a checkout."""

from __future__ import annotations

from pathlib import Path

_PACKAGE = Path(__file__).resolve().parent
_PACKED = _PACKAGE / "_data"


def _folder(name: str) -> Path:
    packed = _PACKED / name
    return packed if packed.is_dir() else _PACKAGE.parent / name


def templates() -> Path:
    """Find the folder of page templates, style sheet and scripts."""
    return _folder("site_templates")


def migrations() -> Path:
    """Find the folder of the Alembic environment and its versions."""
    return _folder("db")


def example() -> Path:
    """Find the folder of the example production's tables."""
    return _folder("examples")
