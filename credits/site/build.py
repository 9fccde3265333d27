"""Pages rendered and written, for one edition."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from pathlib import Path

from credits.editions import cut_to
from credits.pages.page import DataFile, Frame, Page
from credits.pages.source import PageSource
from credits.pages.whole_site import all_pages, frame_of
from credits.site.environment import rendered, static_files
from credits.site.exchange_folder import Written, write_folder

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
    for name, content in pictures.items():
        yield f"pictures/{name}", content
    yield from static_files().items()


def build(
    folder: Path,
    source: PageSource,
    pictures: Mapping[str, bytes],
    progress: Progress | None = None,
) -> Written:
    """Build the edition's site in ``folder``, which then holds it and nothing else."""
    return write_folder(folder, site_files(source, pictures, progress))
