"""Any text is a name, and a production may be empty: the site is built, and safe, all the same."""

from __future__ import annotations

import csv
from collections.abc import Iterator, Mapping
from pathlib import Path

import pytest
from playwright.sync_api import expect

from credits.app.site import build_sites
from credits.editions import Edition
from credits.site.links import character_page, person_page
from tests.drawn import FULL
from tests.productions import production_from, written_tables
from tests.site.conftest import LOOKED_AT, PHONE, Visitor
from tests.site.pages_on_disk import broken_links, of_each_kind, read_site
from tests.site.test_site_in_browser import TOO_WIDE
from tests.site.test_site_links import KINDS

NAMES = {
    "script": "<script>alert(1)</script>",
    "picture": "<img src=x onerror=alert(2)>",
    "quotes": "\"' onmouseover=alert(3) x='",
    "formula": "=cmd()|' /C calc'!A0",
    "table": "Robert'); DROP TABLE people;--",
    "braces": "{{ 7 * 7 }} {% raw %}",
    "entity": "&lt;b&gt; &amp; Söhne",
    "emoji": "🦔🎭",
    "family": "👩‍👩‍👧",
    "long": "Wilhelmina" * 20,
    "words": "von und zu " * 18 + "Ende",
    "arabic": "رشا المرجاني",
    "hebrew": "נעמי בן־יערה",
    "override": "Ana\u202eneB\u202c Lind",
    "joiner": "\u200d",
    "one": "Q",
    "..": "Path Walker",
    "CON": "Reserved",
    "com1": "Reserved Too",
    "one-replacements": "Page Of Another",
    "straße#7?": "Code Of An Address",
    "編": "葉桜",
}
HOSTILE_NOTE = (
    "<script>alert(4)</script> [a](javascript:alert(5)) ![b](https://pictures.example/b.png) "
    "<img src=x onerror=alert(6)> [c](https://notes.example/c) <a href='#nowhere'>d</a>"
)


def write_csv(path: Path, rows: list[dict[str, object]]) -> None:
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, list(rows[0]))
        writer.writeheader()
        writer.writerows(rows)


def odd_production(folder: Path) -> Path:
    """Everybody animates a character of the same name with a puppet, on a shot each."""
    tables = folder.with_name("odd-tables")
    tables.mkdir()
    numbered = list(enumerate(NAMES.items(), start=1))
    people = [
        {"person": code, "credit_name": name, "note": HOSTILE_NOTE} for code, name in NAMES.items()
    ]
    write_csv(tables / "people.csv", people)
    characters = [
        {"character": code, "name": name, "note": HOSTILE_NOTE} for code, name in NAMES.items()
    ]
    write_csv(tables / "characters.csv", characters)
    puppets = [
        {"puppet": f"{c}-1", "character": c, "copy": n, "note": HOSTILE_NOTE}
        for c, n in NAMES.items()
    ]
    write_csv(tables / "puppets.csv", puppets)
    write_csv(tables / "sequences.csv", [{"sequence": "<i>", "name": NAMES["script"]}])
    shots = [
        {"shot": f"<i>-{at}", "sequence": "<i>", "frames": 24, "description": HOSTILE_NOTE}
        for at, _ in numbered
    ]
    write_csv(tables / "shots.csv", shots)
    write_csv(tables / "stages.csv", [{"stage": "<s>", "unit": NAMES["quotes"]}])
    write_csv(tables / "crafts.csv", [
        {"craft": "odd&even", "name": NAMES["script"], "department": NAMES["picture"],
         "kind": "build", "footage": "no", "heading": NAMES["entity"]},
    ])  # fmt: skip
    entries = []
    for at, (code, _) in numbered:
        common = {
            "person": code, "character": code, "puppet": f"{code}-1", "minutes": 30,
            "finished_on": "2026-03-02", "note": HOSTILE_NOTE,
        }  # fmt: skip
        entries.append({**common, "craft": "animation", "shot": f"<i>-{at}", "stage": "<s>"})
        for craft in ("odd&even", "repair"):
            entries.append({**common, "craft": craft, "shot": "", "stage": ""})
    write_csv(tables / "entries.csv", entries)
    cut = folder.with_name("cut.csv")
    write_csv(cut, [{"shot": f"<i>-{at}", "first": 1, "last": 12} for at, _ in numbered])
    return production_from(folder, [tables], title=NAMES["script"], cut=cut)


@pytest.fixture(scope="module")
def odd_sites(tmp_path_factory: pytest.TempPathFactory) -> Mapping[Edition, Path]:
    folder = odd_production(tmp_path_factory.mktemp("odd") / "production")
    return {report.edition: report.folder for report in build_sites(folder, tuple(Edition))}


@pytest.fixture(scope="module")
def empty_sites(tmp_path_factory: pytest.TempPathFactory) -> Mapping[Edition, Path]:
    folder = production_from(tmp_path_factory.mktemp("empty") / "production", [])
    return {report.edition: report.folder for report in build_sites(folder, tuple(Edition))}


@pytest.fixture(scope="module")
def idle_sites(tmp_path_factory: pytest.TempPathFactory) -> Mapping[Edition, Path]:
    """Tables without a single entry: people, a character, a shot, nothing done yet."""
    folder = tmp_path_factory.mktemp("nothing-done")
    tables = written_tables(
        folder / "tables",
        {
            "people": "person,credit_name\nana,Ana",
            "characters": "character,name\nwick,Wick",
            "puppets": "puppet,character\nwick-1,wick",
            "sequences": "sequence\n010",
            "shots": "shot,sequence,frames\n010-020,010,48",
        },
    )
    made = production_from(folder / "production", [tables])
    return {report.edition: report.folder for report in build_sites(made, tuple(Edition))}


def shown(text: str) -> str:
    """A name as a page shows it: white space collapsed."""
    return " ".join(text.split())


@pytest.mark.parametrize("edition", Edition)
def test_the_links_of_odd_codes_lead_somewhere(
    odd_sites: Mapping[Edition, Path], edition: Edition
) -> None:
    assert broken_links(odd_sites[edition]) == []


@pytest.mark.parametrize("edition", Edition)
def test_names_are_text_on_their_pages(odd_sites: Mapping[Edition, Path], edition: Edition) -> None:
    pages = read_site(odd_sites[edition])
    for code, name in NAMES.items():
        for path in (person_page(code), character_page(code)):
            assert shown(pages[path].headings[0]) == shown(name), path
        assert shown(name) in pages["people/index.html"].main_words
        assert shown(name) in pages["credits.html"].main_words


FOREIGN = """() => ({
  scripts: document.querySelectorAll("script:not([src])").length,
  pictures: [...document.images].map((i) => i.src).filter((src) => !src.startsWith("file:")),
  inline: [...document.querySelectorAll("*")].flatMap((e) => e.getAttributeNames())
    .filter((name) => name.startsWith("on")),
})"""


@pytest.mark.browser
@pytest.mark.parametrize("edition", LOOKED_AT)
def test_nothing_in_a_name_or_note_runs_or_breaks_out(
    odd_sites: Mapping[Edition, Path], visit: Visitor, edition: Edition
) -> None:
    """The window complains of dialogs, of requests and of errors by itself."""
    site = odd_sites[edition]
    window = visit(site, viewport=PHONE, is_mobile=True)
    too_wide = {}
    paths = [path for pair in of_each_kind(site).values() for path in (pair if FULL else pair[1:])]
    worst = [*map(person_page, ("script", "picture", "quotes", "long")), character_page("words")]
    for path in dict.fromkeys([*paths, *worst]):
        page = window.go(path)
        # The page for what is not there has one of its own: no address leads to a script from it.
        own = 1 if path == "404.html" else 0
        assert page.evaluate(FOREIGN) == {"scripts": own, "pictures": [], "inline": []}, path
        if found := page.evaluate(TOO_WIDE):
            too_wide[path] = found
    assert too_wide == {}


@pytest.mark.browser
@pytest.mark.parametrize("code", ["script", "formula", "emoji", "arabic", "entity", "編"])
def test_the_jump_box_finds_odd_names_and_shows_them_as_text(
    odd_sites: Mapping[Edition, Path], visit: Visitor, code: str
) -> None:
    window = visit(odd_sites[Edition.PUBLIC])
    page = window.go("index.html")
    page.get_by_role("combobox").fill(NAMES[code])
    option = page.get_by_role("option").filter(has_text="person")
    expect(option.first.locator("bdi")).to_have_text(NAMES[code])
    option.first.click()
    page.wait_for_url("**/people/*")
    assert window.here == person_page(code)


def sites_without_work(
    empty: Mapping[Edition, Path], idle: Mapping[Edition, Path]
) -> Iterator[tuple[Edition, Path]]:
    for sites in (empty, idle):
        yield from sites.items()


def test_a_production_without_work_has_all_its_pages(
    empty_sites: Mapping[Edition, Path], idle_sites: Mapping[Edition, Path]
) -> None:
    for edition, site in sites_without_work(empty_sites, idle_sites):
        # Where nobody has a credit, nothing rolls.
        alone = {kind for kind in KINDS[edition] if not kind.endswith("/*")} - {"roll.html"}
        pages = read_site(site)
        assert alone <= set(pages)
        assert broken_links(site) == []
        for page in pages.values():
            assert page.headings[0].strip(), page.path
            assert len(page.main_words) > 20, page.path


@pytest.mark.browser
def test_the_pages_of_a_production_without_work_open(
    empty_sites: Mapping[Edition, Path], idle_sites: Mapping[Edition, Path], visit: Visitor
) -> None:
    for edition, site in sites_without_work(empty_sites, idle_sites):
        if edition not in LOOKED_AT:
            continue
        window = visit(site, viewport=PHONE)
        for _, path in of_each_kind(site).values():
            assert window.go(path).evaluate(TOO_WIDE) is None, path
