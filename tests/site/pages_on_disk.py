"""A built site as a reader without a browser finds it: its files, links, places and words."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import lru_cache
from html.parser import HTMLParser
from pathlib import Path, PurePosixPath
from urllib.parse import unquote, urlsplit

SENT_ON = b'<meta http-equiv="refresh"'
OUTSIDE = ("http", "https", "mailto")  # what a note may link to
BESIDE_THE_PAGES = {"style.css", "site.js", "jump.js", "icon.svg", "404.html", ".credits-site"}

_FETCHED = {
    ("img", "src"), ("script", "src"), ("link", "href"), ("iframe", "src"), ("source", "src"),
    ("video", "src"), ("audio", "src"), ("embed", "src"), ("object", "data"), ("input", "src"),
    ("image", "href"), ("use", "href"), ("form", "action"), ("body", "background"),
}  # fmt: skip


@dataclass
class PageOnDisk:
    """One page: where it lies in the site, what it links to, what it fetches, what it holds.

    leads_to: where a reader is sent on by itself. finds: whether rows of it are found by words.
    """

    path: str
    links: list[str] = field(default_factory=list)
    outside_rels: list[str] = field(default_factory=list)
    fetched: list[str] = field(default_factory=list)
    ids: list[str] = field(default_factory=list)
    headings: list[str] = field(default_factory=list)
    words: str = ""
    main_words: str = ""
    leads_to: str = ""
    finds: bool = False


class _Reader(HTMLParser):
    def __init__(self, page: PageOnDisk) -> None:
        super().__init__(convert_charrefs=True)
        self.page = page
        self.open: list[str] = []
        self.parts: list[tuple[bool, str]] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.open.append(tag)
        given = {name: value or "" for name, value in attrs}
        if "id" in given:
            self.page.ids.append(given["id"])
        self.page.finds = self.page.finds or "data-find" in given
        if tag in ("a", "area") and "href" in given:
            self.page.links.append(given["href"])
            if urlsplit(given["href"]).scheme:
                self.page.outside_rels.append(given.get("rel", ""))
        for name, value in given.items():
            if (tag, name) in _FETCHED or name == "srcset" or name.endswith(":href"):
                self.page.fetched.append(value)
            # What a reader hears of a page is among its words too.
            if name in ("alt", "aria-label", "title", "content"):
                self.parts.append((False, value))
        if given.get("http-equiv") == "refresh":
            self.page.leads_to = given["content"].partition("url=")[2]
        if tag == "h1":
            self.page.headings.append("")

    def handle_endtag(self, tag: str) -> None:
        if tag in self.open:
            while self.open.pop() != tag:
                pass

    def handle_data(self, data: str) -> None:
        self.parts.append(("main" in self.open, data))
        if "h1" in self.open and self.page.headings:
            self.page.headings[-1] += data


def read_page(site: Path, path: str) -> PageOnDisk:
    """A page of the site, read."""
    page = PageOnDisk(path)
    reader = _Reader(page)
    reader.feed((site / path).read_text(encoding="utf-8"))
    reader.close()
    page.words = " ".join(" ".join(text for _, text in reader.parts).split())
    page.main_words = " ".join(" ".join(t for main, t in reader.parts if main).split())
    return page


@lru_cache(maxsize=16)
def read_site(site: Path) -> dict[str, PageOnDisk]:
    """Every page of a site that does not change any more, by its place in the site."""
    paths = sorted(path.relative_to(site).as_posix() for path in site.rglob("*.html"))
    return {path: read_page(site, path) for path in paths}


def files_of(site: Path) -> set[str]:
    """Every file of the site, by its place in it."""
    return {path.relative_to(site).as_posix() for path in site.rglob("*") if path.is_file()}


def film_data(site: Path) -> set[str]:
    """The files that the script of the film page fetches, as the index of the film names them."""
    text = (site / "film" / "index.js").read_text(encoding="ascii")
    index = json.loads(text.partition("creditsFilm.index = ")[2].rstrip().rstrip(";"))
    pieces = {f"film/{name}.js" for name in index["pieces"]}
    return pieces | {f"film/people/{key}.js" for key, _ in index["people"]}


def target_of(page: str, link: str) -> tuple[str, str]:
    """The file and the place on it that a link of a page leads to, from the root of the site."""
    parts = urlsplit(link)
    if not parts.path:
        return page, unquote(parts.fragment)
    steps: list[str] = []
    for step in (PurePosixPath(page).parent / unquote(parts.path)).parts:
        if step == "..":
            if not steps:
                raise ValueError(f"{page}: {link} leads out of the site")
            steps.pop()
        elif step != ".":
            steps.append(step)
    return "/".join(steps), unquote(parts.fragment)


def inside(links: list[str]) -> Iterator[str]:
    """The links that stay in the site."""
    return (link for link in links if urlsplit(link).scheme not in OUTSIDE)


def broken_links(site: Path) -> list[str]:
    """Everything that links, or is fetched, and is not there; empty when all is well."""
    pages, files = read_site(site), files_of(site)
    found = []
    for page in pages.values():
        for link in {*inside(page.links), *page.fetched}:
            if urlsplit(link).scheme or urlsplit(link).netloc or link.startswith(("/", "\\")):
                found.append(f"{page.path}: {link!r} is not a way inside the folder")
                continue
            path, place = target_of(page.path, link)
            if path not in files:
                found.append(f"{page.path}: {link!r} leads to {path!r}, which is not there")
            elif place.startswith("find=") and pages[path].finds:
                continue  # the rows in which these words stand
            elif place and place not in pages[path].ids:
                found.append(f"{page.path}: {link!r}: no such place on {path!r}")
    return sorted(found)


def kind_of(path: str) -> str:
    """The kind of a page: its own path, or its folder where many pages are of one kind."""
    place = PurePosixPath(path)
    if place.name == "index.html" or place.parent == PurePosixPath("."):
        return path
    return f"{place.parent}/*"


@lru_cache(maxsize=16)
def of_each_kind(site: Path) -> dict[str, tuple[str, str]]:
    """For each kind of page the shortest and the longest page of it."""
    kinds: dict[str, list[str]] = {}
    for file in sorted(site.rglob("*.html")):
        if SENT_ON in file.read_bytes():
            continue  # the old address of a page: nobody stays there
        path = file.relative_to(site).as_posix()
        kinds.setdefault(kind_of(path), []).append(path)

    def length(path: str) -> tuple[int, str]:
        return (site / path).stat().st_size, path

    return {kind: (min(paths, key=length), max(paths, key=length)) for kind, paths in kinds.items()}
