"""Every page is reached, every link leads somewhere, nothing is fetched from elsewhere."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from pathlib import Path
from urllib.parse import urlsplit

import pytest

from credits.editions import Edition
from tests.site.pages_on_disk import (
    BESIDE_THE_PAGES,
    OUTSIDE,
    broken_links,
    files_of,
    film_data,
    inside,
    kind_of,
    read_site,
    target_of,
)

EVERYONE = {
    "index.html", "characters/index.html", "characters/*", "puppets/*", "people/index.html",
    "people/*", "crafts/index.html", "crafts/*", "credits.html", "roll.html", "counted.html",
    "film.html", "404.html",
}  # fmt: skip
CREW = EVERYONE | {
    "shots/index.html", "shots/*", "weeks/index.html", "weeks/*", "ahead.html", "hospital.html",
}  # fmt: skip
OFFICE = CREW | {"footage.html", "retakes.html", "checks.html", "reasons.html"}
KINDS = {Edition.PUBLIC: EVERYONE, Edition.CREW: CREW, Edition.OFFICE: OFFICE}


@pytest.fixture(params=Edition)
def site(request: pytest.FixtureRequest, example_sites: Mapping[Edition, Path]) -> Path:
    """The example's site in each edition."""
    return example_sites[request.param]


@pytest.mark.parametrize("edition", Edition)
def test_each_edition_has_the_pages_that_its_readers_may_see(
    example_sites: Mapping[Edition, Path], edition: Edition
) -> None:
    kinds = {kind_of(path) for path in read_site(example_sites[edition])}
    assert kinds >= KINDS[edition]
    reviews = {kind for kind in kinds if kind.startswith("review")}
    assert kinds - KINDS[edition] - reviews == set()
    assert not reviews or edition is Edition.OFFICE


def test_every_link_and_asset_leads_to_a_file_and_a_place_on_it(site: Path) -> None:
    assert sum(len(page.links) for page in read_site(site).values()) > 500
    assert broken_links(site) == []


def test_every_file_is_reached_from_home_by_links(site: Path) -> None:
    pages = read_site(site)
    reached, ahead = {"index.html"}, ["index.html"]
    while ahead:
        page = pages.get(ahead.pop())
        for link in (*inside(page.links), *page.fetched) if page else ():
            path, _ = target_of(page.path, link)
            if path not in reached:
                reached.add(path)
                ahead.append(path)
    # The address of a code that was joined with another stays, and nothing leads there any more.
    old = {path for path, page in pages.items() if page.leads_to}
    beside = BESIDE_THE_PAGES | film_data(site)
    assert files_of(site) - reached - old == beside - reached
    assert {target_of(path, pages[path].leads_to)[0] for path in old} <= reached


def test_only_links_in_notes_lead_outside_and_they_tell_the_other_side_nothing(site: Path) -> None:
    for page in read_site(site).values():
        schemes = {urlsplit(link).scheme for link in page.links} - {""}
        assert schemes <= set(OUTSIDE), page.path
        assert all("noopener" in rel and "noreferrer" in rel for rel in page.outside_rels)


def test_nothing_is_fetched_from_another_place(site: Path) -> None:
    for page in read_site(site).values():
        assert not [link for link in page.fetched if urlsplit(link).scheme], page.path
    for name in files_of(site):
        if name.endswith((".css", ".js", ".svg")):
            text = (site / name).read_text(encoding="utf-8")
            called = re.findall(
                r"(?:url\(|@import|\bimport\b|fetch\(|Worker\(|https?:)[^;\n]*", text
            )
            own = [c for c in called if not re.match(r"url\(#|https?://www\.w3\.org/", c)]
            assert own == [], name


def test_the_jump_box_leads_only_to_pages_that_are_there(site: Path) -> None:
    text = (site / "jump.js").read_text(encoding="ascii")
    rows = json.loads(text.partition("window.CREDITS_JUMP = ")[2].rstrip().rstrip(";"))
    assert len(rows) > 100
    pages = read_site(site)
    for kind, name, _, way, _ in rows:
        path, _, place = way.partition("#")
        assert path in pages, way
        assert not place or place in pages[path].ids, way
        assert kind, way
        assert name.strip(), way


def test_the_film_page_fetches_only_files_that_are_there(site: Path) -> None:
    assert len(film_data(site)) > 50
    assert film_data(site) <= files_of(site)


def test_every_page_has_one_heading_and_a_title_of_its_own(site: Path) -> None:
    for page in read_site(site).values():
        assert len(page.headings) == 1, page.path
        assert page.headings[0].strip(), page.path
        assert len(page.ids) == len(set(page.ids)), page.path
