"""The one Jinja environment: autoescape, strict, no logic beyond what a template may have."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined, Template

from credits import places
from credits.site.markdown import markdown, markdown_line
from credits.site.names import name, names


@cache
def environment(folder: Path | None = None) -> Environment:
    """The environment over the folder of templates (the product's own when None)."""
    made = Environment(
        loader=FileSystemLoader(folder or places.templates(), encoding="utf-8"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
        auto_reload=False,
        cache_size=-1,
    )
    made.filters["markdown"] = markdown
    made.filters["markdown_line"] = markdown_line
    made.filters["name"] = name
    made.filters["names"] = names
    return made


def rendered(template: str, **values: Any) -> str:
    """The page that a template makes of a frame and a page model."""
    found: Template = environment().get_template(template)
    return found.render(**values)


def static_files() -> dict[str, bytes]:
    """The style sheet and the scripts, by their place in the site."""
    folder = places.templates()
    return {
        path.name: path.read_bytes()
        for path in sorted(folder.iterdir())
        if path.suffix in (".css", ".js")
    }
