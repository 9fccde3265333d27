"""What a tab, a search result and a link that is passed on say; addresses that stay."""

from __future__ import annotations

import re
from collections.abc import Mapping
from html import unescape
from pathlib import Path

import pytest

from credits.app.site import build_sites
from credits.editions import Edition
from tests.productions import production_from, written_tables
from tests.site.conftest import Visitor
from tests.site.pages_on_disk import read_site

FILM = "The Tardy Echo"


def head_of(site: Path, path: str) -> str:
    """What stands in the head of a page, as a program reads it."""
    return unescape((site / path).read_text("utf-8").partition("</head>")[0])


def said_in(head: str, name: str) -> str | None:
    found = re.search(rf'<meta (?:name="\w+" )?(?:name|property)="{name}" content="([^"]*)"', head)
    return found[1] if found else None


@pytest.mark.parametrize(
    ("path", "title"),
    [
        ("index.html", FILM),
        ("people/ase.html", f"Åse Kærlund-Øby – {FILM}"),
        ("shots/030-060.html", f"Shot 030-060 – {FILM}"),
        ("credits.html", f"End credits – {FILM}"),
        ("404.html", f"There is no such page – {FILM}"),
    ],
)
def test_a_window_is_called_by_the_page_and_then_the_film(
    example_sites: Mapping[Edition, Path], path: str, title: str
) -> None:
    assert f"<title>{title}</title>" in head_of(example_sites[Edition.CREW], path)


@pytest.mark.parametrize("edition", Edition)
def test_every_page_but_that_for_none_is_described(
    example_sites: Mapping[Edition, Path], edition: Edition
) -> None:
    site = example_sites[edition]
    paths = [path.relative_to(site).as_posix() for path in site.rglob("*.html")]
    said = {path: said_in(head_of(site, path), "og:description") for path in paths}
    without = {path for path, text in said.items() if not text}
    old = {path for path, page in read_site(site).items() if page.leads_to}
    assert without <= {"404.html", "footage.html", "checks.html"} | old | {
        path for path in paths if path.startswith("reviews/") or "-replacements" in path
    }
    assert all(len(text) <= 300 for text in said.values() if text)


def test_a_link_to_a_person_shows_the_credit_line_and_their_character(
    example_sites: Mapping[Edition, Path],
) -> None:
    head = head_of(example_sites[Edition.PUBLIC], "people/ase.html")
    assert said_in(head, "og:description") == (
        "Åse Kærlund-Øby on The Tardy Echo: Tibb Underlark, made by; The Echo, made by; "
        "Character design."
    )
    assert said_in(head, "og:image") == "../pictures/tibb.svg"
    assert (example_sites[Edition.PUBLIC] / "pictures" / "tibb.svg").is_file()


JOINED = {
    "people": """person,credit_name,same_as
        ana,Ana Lind,
        ana2,ana  LIND,ana
        zqformer,Zqformer Lind,ana""",
    "characters": "character,name\nwick,Wick",
    "entries": "craft,person,character\nvoice,ana2,wick",
}


@pytest.fixture(scope="module")
def joined(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("joined")
    film = production_from(folder / "film", [written_tables(folder / "tables", JOINED)])
    build_sites(film, tuple(Edition), folder / "sites")
    return folder / "sites"


@pytest.mark.parametrize("edition", Edition)
def test_the_address_of_a_code_that_was_joined_leads_to_the_person(
    joined: Path, edition: Edition
) -> None:
    text = (joined / edition / "people" / "ana2.html").read_text("utf-8")
    assert '<meta http-equiv="refresh" content="0; url=../people/ana.html">' in text
    assert '<a href="../people/ana.html">Ana Lind</a>' in text


def test_a_code_that_came_with_another_name_stays_with_the_office(joined: Path) -> None:
    have = [edition for edition in Edition if (joined / edition / "people/zqformer.html").exists()]
    assert have == [Edition.OFFICE]


@pytest.mark.browser
def test_an_old_address_opens_the_page_without_a_script(joined: Path, visit: Visitor) -> None:
    window = visit(joined / "public", java_script_enabled=False)
    window.page.goto((joined / "public" / "people" / "ana2.html").as_uri())
    window.page.wait_for_url("**/people/ana.html")
    assert window.page.title().startswith("Ana Lind – ")


@pytest.mark.browser
def test_the_page_for_what_is_not_there_leads_back(
    example_sites: Mapping[Edition, Path], visit: Visitor
) -> None:
    window = visit(example_sites[Edition.PUBLIC])
    window.go("404.html").get_by_role("link", name="the first page").click()
    assert window.here == "index.html"
