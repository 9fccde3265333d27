"""Pages rendered by their templates."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from functools import cache
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined, Template

from credits import places
from credits.editions import cut_to
from credits.site.markdown import markdown, markdown_line, name, names
from credits.site.page import DataFile, Frame, Link, Page
from credits.site.publish import Published, publish
from credits.site.source import PageSource
from credits.site.whole_site import all_pages, frame_of
from credits.units.table import Table


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
    made.filters["printed"] = Table.printed
    made.tests["links"] = lambda value: isinstance(value, tuple)
    made.tests["link"] = lambda value: isinstance(value, Link)
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


Progress = Callable[[str], None]


def render(page: Page, frame: Frame, source: PageSource) -> str:
    """One page as HTML: its model is first cut to the edition."""
    model = cut_to(page.model, source.edition)
    return rendered(page.template, frame=cut_to(frame, source.edition), page=model)


def site_files(
    source: PageSource, pictures: Mapping[str, bytes], progress: Progress | None = None
) -> Iterator[tuple[str, bytes]]:
    """Every file of the edition: pages, data files, pictures, style sheet, scripts."""
    items: Iterable[Page | DataFile] = all_pages(source)
    for item in items:
        if isinstance(item, DataFile):
            yield item.path, item.content
        else:
            yield item.path, render(item, frame_of(item, source), source).encode("utf-8")
        if progress is not None:
            progress(item.path)
    for picture, content in pictures.items():
        yield f"pictures/{picture}", content
    yield from static_files().items()


def build(
    folder: Path,
    source: PageSource,
    pictures: Mapping[str, bytes],
    progress: Progress | None = None,
) -> Published:
    """Build the edition's site in ``folder``, which then holds it and nothing else."""
    return publish(folder, site_files(source, pictures, progress))
