"""Long tables fold by sequence; a list leads once to each; what a page leaves out is beside it."""

from __future__ import annotations

import csv
import io
from fractions import Fraction

import pytest

from credits.editions import Edition
from credits.figures.snapshot import Snapshot
from credits.site.folded import MOST_ROWS, folded, kits
from credits.site.links import Link, LinkedOnce
from credits.site.pages.home import home_pages
from credits.site.pages.person import person_pages
from credits.site.pages.shots import (
    LEFT_TO_THE_CSV,
    MOST_SHOTS,
    SHOTS_CSV,
    TOLD_BY_THE_SHOT,
    shots_pages,
)
from credits.site.render import render
from credits.site.source import PageSource
from credits.site.strips import MOST_BLOCKS, BlockSpec, strip
from credits.units.table import Column, Table, Unit
from tests.small_log import small_ledger
from tests.table_texts import rows_of, total_of

COLUMNS = (
    Column(key="shot", heading="Shot"),
    Column(key="frames", heading="Frames", unit=Unit.FRAMES, adds_up=True),
)


def film(shots: int) -> PageSource:
    """A film of two sequences, one frame of each shot animated by Ana."""
    codes = [f"{10 * (1 + at % 2):03}-{at:04}" for at in range(shots)]
    text = (
        "[people]\nperson, credit_name\nana, Ana\n[characters]\ncharacter, name\nwick, Wick\n"
        "[sequences]\nsequence, name\n010, The Quay\n020, The Lamp\n"
        "[shots]\nshot, sequence, frames\n"
        + "".join(f"{code}, {code[:3]}, 24\n" for code in codes)
        + "[entries]\ncraft, person, character, shot, frames\n"
        + "".join(f"animation, ana, wick, {code}, 1\n" for code in codes)
    )
    return PageSource(Snapshot(small_ledger(text)), Edition.CREW)


def test_a_short_table_stands_as_it_is_and_a_longer_one_by_sequence() -> None:
    source = film(MOST_ROWS + 1)
    rows = [(source.shot(code), 1) for code in source.ledger.shots]
    short = folded(source, Table.of("Frames", COLUMNS, rows[:-1]))
    assert [(name, len(table.rows)) for name, _, table in short.parts] == [("", MOST_ROWS)]
    long = folded(source, Table.of("Frames", COLUMNS, rows, label="total"))
    assert [name for name, _, _ in long.parts] == ["010, The Quay", "020, The Lamp"]
    assert sum(len(table.rows) for _, _, table in long.parts) == MOST_ROWS + 1


def test_the_parts_add_up_to_their_sums_and_these_to_the_whole() -> None:
    source = film(MOST_ROWS + 1)
    rows = [(source.shot(code), Fraction(1, 3)) for code in source.ledger.shots]
    table = Table.of("Frames", COLUMNS, rows, label="total")
    parts = folded(source, table)
    sums = rows_of(parts.sums, "frames")
    assert [total_of(part)[-1] for _, _, part in parts.parts] == sums
    assert total_of(parts.sums)[-1] == total_of(table)[-1] == str(sum(map(int, sums)))


def test_a_page_shows_every_row_of_a_folded_table() -> None:
    source = film(MOST_ROWS + 1)
    page = next(page for page in person_pages(source) if page.path == "people/ana.html")
    html = render(page, source)
    assert html.count("<details><summary><bdi>010, The Quay</bdi>") == 1
    for code in source.ledger.shots:
        assert f">{code}<" in html


MOST_BYTES = 300_000
A_FEATURE = 1500  # shots


def test_the_list_leaves_to_the_csv_what_a_shot_says_itself() -> None:
    pages = {page.path: page for page in shots_pages(film(3))}
    table = pages["shots/index.html"].model.shots  # type: ignore[union-attr]
    assert not set(TOLD_BY_THE_SHOT) & {column.key for column in table.columns}
    text = pages[SHOTS_CSV].content.decode("utf-8-sig")  # type: ignore[union-attr]
    rows = list(csv.DictReader(io.StringIO(text)))
    assert len(rows) == 3
    assert set(TOLD_BY_THE_SHOT) <= set(rows[0])
    assert (rows[0]["shot"], rows[0]["animators"], rows[0]["frames"]) == ("010-0000", "Ana", "24")


def a_feature() -> PageSource:
    """A feature: of each shot two animators and two characters with ordinary names, a stage, a day,
    a take; all used in the cut."""
    codes = [f"{10 * (1 + at // 40):03}-{at:04}" for at in range(A_FEATURE)]
    text = (
        "[people]\nperson, credit_name\nana, Anastasia Lindqvist\nben, Benjamin Okoro\n"
        "[characters]\ncharacter, name\nwick, Lamplighter Wick\nbrine, Captain Brine\n"
        "[stages]\nstage\nnorth\n[sequences]\nsequence, name\n"
        + "".join(f"{code}, The quay at noon\n" for code in dict.fromkeys(c[:3] for c in codes))
        + "[shots]\nshot, sequence, frames, status\n"
        + "".join(f"{code}, {code[:3]}, 124, done\n" for code in codes)
        + "[takes]\nshot, take, decision\n"
        + "".join(f"{code}, 2, accepted\n" for code in codes)
        + "[entries]\ncraft, person, character, shot, take, frames, stage, finished_on\n"
        + "".join(
            f"animation, {who}, {whom}, {code}, 2, 1-124, north, 2026-09-28\n"
            for code in codes
            for who, whom in (("ana", "wick"), ("ben", "brine"))
        )
        + "[cut]\nshot, take, first, last\n"
        + "".join(f"{code}, 2, 1, 120\n" for code in codes)
    )
    return PageSource(Snapshot(small_ledger(text)), Edition.OFFICE)


def test_the_list_of_a_feature_is_one_table_of_a_size_that_opens_at_once() -> None:
    source = a_feature()
    page, _ = shots_pages(source)
    html = render(page, source)  # type: ignore[arg-type]
    assert html.count("<tr><th") == A_FEATURE + 38 + 4  # shots, sequences; heads and totals
    assert html.count("Anastasia Lindqvist") == A_FEATURE
    assert len(html.encode("utf-8")) < MOST_BYTES
    home = next(home_pages(source))
    assert len(render(home, source).encode("utf-8")) < MOST_BYTES


def test_a_longer_list_has_fewer_links() -> None:
    def animators(shots: int) -> list[object]:
        table = next(shots_pages(film(shots))).model.shots  # type: ignore[union-attr]
        assert set(LEFT_TO_THE_CSV) <= {column.key for column in table.columns}
        return list(table.column("animators")[0])

    assert animators(MOST_SHOTS) == [Link("Ana", "people/ana.html")]
    assert animators(MOST_SHOTS + 1) == [Link("Ana")]


def test_a_name_leads_to_its_page_once() -> None:
    once, ana, ben = LinkedOnce(), Link("Ana", "people/ana.html"), Link("Ben", "people/ben.html")
    assert once((ana, ben)) == (ana, ben)
    assert once((ben, ana)) == (Link("Ben"), Link("Ana"))


def test_many_stretches_of_one_kind_are_drawn_as_one_line() -> None:
    few = [BlockSpec(2 * at, 2 * at + 1, 0, str(at)) for at in range(MOST_BLOCKS)]
    many = [*few, BlockSpec(2 * MOST_BLOCKS, 2 * MOST_BLOCKS + 1, 0, "last")]
    drawn = strip("Frames", [("few", few), ("many", many)], (0, 100))
    (first, second) = drawn.rows
    assert (len(first.blocks), first.crowd) == (MOST_BLOCKS, None)
    assert second.crowd is not None
    dashes = [int(length) for length in second.crowd.dashes.split()]
    assert (dashes[:5], len(dashes)) == ([0, 0, 10, 10, 10], 2 * len(many) + 2)
    assert (second.blocks, second.crowd.title) == ((), f"many: {len(many)} stretches")


@pytest.mark.parametrize(
    ("parts", "named"),
    [
        (("a-1", "a-2"), ["a, face", "a, face"]),
        (("a_1", "a_02", "b7", "b8"), ["a, face", "a, face", "b, face", "b, face"]),
        (("a-lid-1", "a-lid-2", "a-1"), ["a-lid, face", "a-lid, face", "face"]),
        (("hat", "coat", "梅-1", "梅-2"), ["face", "face", "梅, face", "梅, face"]),
        (("1", "2"), ["face", "face"]),
        ((), []),
    ],
)
def test_a_kit_is_what_several_codes_begin_with(parts: tuple[str, ...], named: list[str]) -> None:
    assert kits([(code, "face") for code in parts]) == named


def test_pieces_of_one_kit_are_of_one_kind() -> None:
    assert kits([("a-1", "face"), ("a-2", "mouth"), ("a-3", "mouth")]) == [
        "face", "a, mouth", "a, mouth",
    ]  # fmt: skip
