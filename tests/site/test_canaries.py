"""Editions proven: a canary in every field, looked for in every byte of every file."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from pathlib import Path

import pytest

from credits.app.production import open_snapshot
from credits.app.site import build_sites
from credits.billing.reasons import in_words
from credits.cli.main import run
from credits.editions import Edition
from credits.formats.tables.columns import TABLES as COLUMNS
from credits.store.log import open_log
from credits.units.film_time import MONTHS
from tests import canary_production
from tests.canary_bytes import Read, places, raw_text, read_all
from tests.canary_production import TABLES
from tests.canary_table import CANARIES, CREW, OFFICE, PUBLIC, Canary, one_of
from tests.conftest import made_once

FORMATS = ("text", "csv", "xlsx", "pdf", "json", "prov", "prov-n", "jsonld")
PROOFS = ("text", "csv", "xlsx", "pdf", "json")


@dataclass(frozen=True)
class Made:
    """The production and everything that was made of it."""

    folder: Path
    sites: dict[Edition, tuple[Read, ...]]
    exports: dict[tuple[Edition, str], tuple[Read, ...]]
    proofs: dict[tuple[Edition, str], tuple[Read, ...]]
    pack: tuple[Read, ...]


def _exported(folder: Path, to: Path, edition: Edition, form: str, *more: str) -> None:
    ending = {"text": "txt", "prov": "json", "prov-n": "provn"}.get(form, form)
    words = [form.removesuffix("-n"), *(("--format", "n") if form == "prov-n" else ()), *more]
    out = to / f"export-{len(list(to.glob('*')))}.{ending}"
    target = ("--edition", edition.value, "--out", str(out), "--production", str(folder))
    assert run(["export", *words, *target]) == 0, (words, edition)


def _make(folder: Path) -> None:
    film = canary_production.canary_production(folder / "film")
    build_sites(film, tuple(Edition), folder / "sites")
    assert run(["review", "ana", "--out", str(folder / "pack"), "--production", str(film)]) == 0
    for edition in Edition:
        for form in FORMATS:
            to = folder / "exports" / edition / form
            to.mkdir(parents=True)
            _exported(film, to, edition, form)
            if form.startswith("prov") or form == "jsonld":
                _exported(film, to, edition, form, "--for", "wick")
                if edition is not PUBLIC:
                    _exported(film, to, edition, form, "--for", "zqshot-1")
        for form in PROOFS:
            to = folder / "proofs" / edition / form
            to.mkdir(parents=True)
            _exported(film, to, edition, form, "--proof", "1")


@pytest.fixture(scope="session")
def made(shared_folder: Path) -> Made:
    """The production of canaries, its sites, its exports, and the review pack of Ana."""
    folder = made_once(shared_folder / "canaries", _make)
    return Made(
        folder / "film",
        {edition: read_all(folder / "sites" / edition) for edition in Edition},
        {(e, f): read_all(folder / "exports" / e / f) for e in Edition for f in FORMATS},
        {(e, f): read_all(folder / "proofs" / e / f) for e in Edition for f in PROOFS},
        read_all(folder / "pack"),
    )


# --- the table is whole


def test_every_column_of_every_table_has_a_value_in_the_production() -> None:
    by_other_means = {"crafts", "confirmations"}  # built in; by ``credits confirm``
    empty = []
    for table in sorted(COLUMNS.keys() - by_other_means):
        text = "\n".join(line.strip() for line in TABLES.get(table, "").strip().splitlines())
        rows = list(csv.DictReader(io.StringIO(text)))
        for name in COLUMNS[table].column_names:
            filled = any(row.get(name) for row in rows)
            if not filled:
                empty.append((table, name))
    assert empty == []


def test_every_canary_of_the_production_is_in_the_table() -> None:
    source = Path(canary_production.__file__).read_text("utf-8")
    known = [canary.name for canary in CANARIES]
    planted = set(re.findall(r"zq[a-z]+", source.lower()))
    assert len(planted) > 60
    assert sorted(planted - set(known)) == []
    assert sorted({name for name in known if name.startswith("zq")} - planted) == []
    assert len(set(known)) == len(known)


def test_every_file_that_is_looked_through_was_read(made: Made) -> None:
    endings = {e: {one.name.rpartition(".")[2] for one in made.sites[e]} for e in Edition}
    assert endings[PUBLIC] >= {"html", "js", "css", "svg", "png", "jpg"}
    assert endings[OFFICE] >= endings[PUBLIC] | {"csv"}
    assert all(made.exports.values())
    assert all(made.proofs.values())
    assert {one.name.rpartition(".")[2] for one in made.pack} >= {"html", "pdf", "csv", "css"}
    for files in (made.exports[PUBLIC, "pdf"], made.exports[PUBLIC, "xlsx"], made.pack):
        assert any("ana lind" in one.text for one in files)


# --- nobody has what their edition may not have


@pytest.mark.parametrize("canary", CANARIES, ids=lambda canary: canary.name)
def test_no_file_has_what_its_edition_may_not_have(made: Made, canary: Canary) -> None:
    for edition in Edition:
        if canary.least is not None and edition.sees(canary.least):
            continue
        assert places(made.sites[edition], canary) == [], f"site, {edition}"
        for form in FORMATS:
            assert places(made.exports[edition, form], canary) == [], f"{form}, {edition}"
        for form in PROOFS if not canary.in_proofs else ():
            assert places(made.proofs[edition, form], canary) == [], f"proof, {form}, {edition}"


@pytest.mark.parametrize("canary", CANARIES, ids=lambda canary: canary.name)
def test_what_an_edition_shows_is_found(made: Made, canary: Canary) -> None:
    for edition in Edition:
        if canary.least is None or not edition.sees(canary.least):
            continue
        if canary.site:
            assert places(made.sites[edition], canary), f"site, {edition}"
        for form in canary.exports:
            assert places(made.exports[edition, form], canary), f"{form}, {edition}"


@pytest.mark.parametrize("canary", CANARIES, ids=lambda canary: canary.name)
def test_a_review_pack_has_one_persons_figures_and_nobody_elses(made: Made, canary: Canary) -> None:
    found = places(made.pack, canary)
    assert bool(found) is canary.pack, found


def test_a_review_pack_names_nobody_else(made: Made) -> None:
    for other in ("Ben Moor", "Cai Holm", "Dee Ford", "Eli Marsh", "Brine"):
        canary = Canary(other, rf"\b{other.lower()}\b", OFFICE)
        assert places(made.sites[OFFICE], canary)
        assert places(made.pack, canary) == []


# --- what is worked out and not written in a table


def day_spellings(day: date) -> Iterator[str]:
    month = MONTHS[day.month - 1]
    yield from (day.isoformat(), f"{day:%Y%m%d}", f"{day:%d.%m.%Y}", f"{day:%d/%m/%Y}")
    yield from (f"{day.day} {month} {day.year}", f"{month} {day.day}, {day.year}")
    yield from (f"{month} {day.year}", f"{month[:3]} {day.year}")
    yield f"{day.toordinal()}"


def _said(text: str) -> Canary:
    return Canary(text, re.escape(text.lower()), OFFICE)


def test_what_the_checks_ask_is_in_the_office_alone(made: Made) -> None:
    results = open_snapshot(made.folder)
    settled = [one.check for one in results.settled]
    assert len(settled) == 1
    assert {check.kind for check in results.open_checks} >= {"day-too-long", "no-engagement"}
    for check in (*results.open_checks, *settled):
        asked = _said(check.message)
        assert "checks.html" in places(made.sites[OFFICE], asked), check.message
        for others in (made.sites[PUBLIC], made.sites[CREW], made.pack, *made.exports.values()):
            assert places(others, asked) == []


def test_why_somebody_is_held_is_in_the_office_alone(made: Made) -> None:
    held = open_snapshot(made.folder).credits.held
    assert {one.person for one in held} == {"zqheldcode", "zqhiddencode"}
    for text in (
        text
        for one in held
        for text in (in_words(one.because).rule, in_words(one.because).threshold)
        if text
    ):
        assert places(made.sites[OFFICE], _said(text)), text
        for edition in (PUBLIC, CREW):
            files = [*made.sites[edition], *(f for p in FORMATS for f in made.exports[edition, p])]
            assert places(files, _said(text)) == [], text


def test_the_day_of_a_proof_and_of_an_answer_is_not_public(made: Made) -> None:
    with open_log(made.folder) as log:
        (mark,) = log.proofs()
        days = {mark.saved_at.date(), log.read().settlements[-1].settled_at.date()}
    pattern = one_of(*(text.lower() for day in days for text in day_spellings(day)))
    canary = Canary("day of the proof", pattern, CREW)
    assert places(made.sites[PUBLIC], canary) == []
    for form in FORMATS:
        assert places(made.exports[PUBLIC, form], canary) == [], form
    for form in PROOFS:
        assert places(made.proofs[PUBLIC, form], canary) == [], form
    assert "credits.html" in places(made.sites[CREW], canary)
    assert places(made.proofs[CREW, "text"], canary)


def test_pictures_of_shots_are_not_public(made: Made) -> None:
    public = {one.name for one in made.sites[PUBLIC] if one.name.startswith("pictures/")}
    crew = {one.name for one in made.sites[CREW] if one.name.startswith("pictures/")}
    assert public == {"pictures/wick.jpg", "pictures/brine.png", "pictures/wick-1.svg"}
    assert crew == public | {"pictures/zqshot-1.png"}


def test_the_pictures_held_their_canaries_before(made: Made) -> None:
    planted = " ".join(raw_text(path.read_bytes()) for path in (made.folder / "pictures").iterdir())
    hidden = [canary for canary in CANARIES if re.match("zq(exif|comment|png|svg)", canary.name)]
    assert len(hidden) == 9
    assert [canary.name for canary in hidden if canary.name not in planted] == []
