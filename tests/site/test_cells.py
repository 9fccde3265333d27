"""Cells are written by their values, and a strip writes itself."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from fractions import Fraction

import pytest
from markupsafe import escape

from credits.site import html
from credits.site.csv_file import table_csv
from credits.site.links import Link, linked_day
from credits.site.paper import style_sheet, titled
from credits.site.source import linked_once
from credits.site.strips import BlockSpec, strip
from credits.units.frames import Frames
from credits.units.table import Column, Marked, Table, Unit

COLUMNS = (
    Column(key="name", heading="Name"),
    Column(key="frames", heading="Frames", unit=Unit.RANGES),
    Column(key="kept", heading="Kept", unit=Unit.FRAMES, adds_up=True),
    Column(key="cut", heading="Cut", unit=Unit.FRAMES, adds_up=True, nothing=""),
    Column(key="many", heading="Many", unit=Unit.NUMBER, nothing="none"),
)
HALF = Fraction(1, 2)
ROWS = (
    (Link("<Ana>", "people/ana.html"), Frames.parse("1-4,9"), HALF, None, 1200),
    ((Link("Ben"), Link("Cy", "people/cy.html")), None, HALF, 3, None),
    (Marked(value="Di & co", note="new", sort=7, anchor="a-1"), Frames.parse("2"), None, 0, 0),
)
WRITTEN = [
    '<tr><th><a href="../people/ana.html">&lt;Ana&gt;</a><td>1-4, 9<td>1<td><td>1,200',
    '<tr><th>Ben, <a href="../people/cy.html">Cy</a><td><td>0<td>3<td data-sort="">none',
    '<tr><th id="a-1">Di &amp; co <small>new</small><td>2<td data-sort="">–<td>0<td>0',
]


def rows_of(table: Table) -> list[str]:
    """The lines of the table's rows."""
    written = html.table(table, "../")
    return [line for line in written.split("<tbody>\n")[1].splitlines() if line.startswith("<tr>")]


def test_a_cell_is_written_as_its_value_is_printed() -> None:
    assert rows_of(Table(caption="T", columns=COLUMNS, rows=ROWS)) == WRITTEN


def test_a_cell_is_written_alike_however_many_were_written_before(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(html, "MOST_KNOWN", 2)
    table = Table(caption="T", columns=COLUMNS, rows=ROWS * 5).without("kept")
    assert rows_of(table) == rows_of(replace(table, rows=table.rows[:3])) * 5


def test_a_day_is_written_alike_in_every_row() -> None:
    column = Column(key="day", heading="Day", unit=Unit.DAY)
    table = Table(caption="T", columns=(column,), rows=((linked_day(None),),) * 2)
    assert len(set(rows_of(table))) == 1


def test_rows_of_one_first_value_stand_beside_it() -> None:
    columns = (Column(key="who", heading="Who"), Column(key="what", heading="What"))
    rows = (("Ana", "a"), ("Ana", "b"), ("Ben", "c"))
    written = html.table(Table(caption="T", columns=columns, rows=rows, grouped=True), "")
    assert (
        '<tbody>\n<tr><th scope="rowgroup" rowspan="2">Ana<td>a\n<tr><td>b\n'
        '<tbody>\n<tr><th scope="rowgroup" rowspan="1">Ben<td>c\n'
    ) in written


WORDS = (
    Column(key="who", heading="Who"),
    Column(key="craft", heading="Craft"),
    Column(key="note", heading="'Said' & \\ <done>", head="Also"),
    Column(key="kept", heading="Kept", unit=Unit.FRAMES),
)


def opened(table: Table) -> str:
    """The tag that opens the table."""
    return html.table(table, "").partition("<table")[2].partition("><caption")[0]


def test_a_table_of_words_carries_its_headings_for_narrow_windows() -> None:
    table = Table(caption="T", columns=WORDS, rows=(("A long name of somebody", "voice", "", 3),))
    assert opened(table) == (
        ' class="sortable stacks n1" style="--h3:\'Craft\';'
        "--h2:'Also, \\27 Said\\27  \\26  \\5c  \\3c done\\3e ';--h1:'Kept';"
        '--w3:0px;--w2:0px"'
    )
    # What heads a row has its heading where it does not say by itself what it is.
    short = replace(table, rows=(("Ana", "a craft that nobody has heard of", "", 3),))
    assert "--h4:'Who';" in opened(short)
    assert "--w3" not in opened(short)


def test_a_table_of_figures_or_of_few_columns_stays_a_table_everywhere() -> None:
    assert opened(Table(caption="T", columns=COLUMNS, rows=ROWS)) == ' class="sortable n1 n2 n3"'
    few = Table(caption="T", columns=WORDS, rows=(("Ana", "voice", "", 3),)).without("kept")
    assert opened(few) == ' class="sortable"'


def test_a_cell_at_the_end_of_a_row_that_says_nothing_is_ended() -> None:
    table = Table(caption="T", columns=WORDS[:2], rows=(("Ana", ""), ("Ben", "voice")))
    assert rows_of(table) == ["<tr><th>Ana<td></td>", "<tr><th>Ben<td>voice"]


def test_a_page_has_the_patterns_that_it_asks_for() -> None:
    patterns = "".join(f'<pattern id="w{at}"><rect/></pattern>\n' for at in range(6))
    every = f'<svg class="patterns"><defs>\n{patterns}</defs></svg>\n'
    page = '<rect fill="url(#w3)"/>'
    assert html.with_patterns_asked_for(page + every) == (
        f'{page}<svg class="patterns"><defs>\n<pattern id="w3"><rect/></pattern>\n</defs></svg>\n'
    )
    assert html.with_patterns_asked_for(f"<p>None</p>{every}") == "<p>None</p>"


def test_margins_of_paper_hold_any_title() -> None:
    odd = "'};\n</style><script>\\\""
    sheet = style_sheet(odd, "Crew edition", "Log as of 2 March 2026").decode()
    assert sheet.splitlines()[-1] == (
        "@page { @top-left { content: var(--title, '\\27 };\\a \\3c /style\\3e \\3c script\\3e "
        "\\5c \\22 '); } @top-right { content: 'Crew edition'; }"
        " @bottom-left { content: 'Log as of 2 March 2026'; } }"
    )
    assert not set(titled(odd)) & set('"<>')


def test_a_strip_lets_no_text_pass_unescaped() -> None:
    word = "<b>&\"'"
    blocks = [BlockSpec(0, 90, 0, f"told {word}", f"on {word}")]
    crowd = [BlockSpec(2 * at, 2 * at + 1, 1, "") for at in range(20)]
    ticks = [(0, f"above {word}", f"below {word}")]
    drawn = strip(f"title {word}", [(f"few {word}", blocks), (f"many {word}", crowd)], (0, 90))
    few = strip("", [("", blocks)], (0, 90), ticks)
    written = f"{escape(drawn)}{escape(few)}"
    assert word not in written
    for place in ("title", "few", "many", "told", "on", "above", "below"):
        assert f"{place} {escape(word)}" in written


def test_how_folded_tables_are_stacked_is_said_once() -> None:
    table = Table(caption="T", columns=WORDS, rows=(("Ana", "voice", "", 3),))
    long = replace(table, rows=(("Ben", "a craft that nobody has heard of", "", 3),))
    written = html.folded_tables((("A & b", "1", table), ("C", "1", long)), "")
    assert written.count("--h3:'Craft'") == 1 == written.count(" style=")
    # A column is short where it is short in every part.
    assert "--w3" not in written
    assert "--w2:0px" in written
    assert written.count("<details>") == 2 == written.count('<table class="sortable stacks n1">')
    assert "<summary><bdi>A &amp; b</bdi> <small>1</small></summary>" in written
    assert html.folded_tables((("", "", table),), "").count("<details>") == 0
    assert html.folded_tables((), "") == ""


def test_names_lead_somewhere_the_first_time_in_a_column() -> None:
    ana, day = Link("Ana", "people/ana.html"), linked_day(date(2026, 3, 2))
    columns = (Column(key="day", heading="Day", unit=Unit.DAY), *COLUMNS[:1])
    table = Table(caption="T", columns=columns, rows=((day, ana), (day, (ana,)), (None, None)))
    first, again, nobody = linked_once(table, "day", "name").rows
    assert first == (day, ana)
    assert (again[0].value.href, again[0].sort, again[1][0].href) == (None, day.sort, None)
    assert nobody == (None, None)


@pytest.mark.parametrize(
    ("text", "written"),
    [
        ("Ana & Ben", "Ana &amp; Ben"),
        ("Zoë <b>", "Zoë &lt;b&gt;"),
        ("שלום <1>", "<bdi>שלום &lt;1&gt;</bdi>"),
        ("S1 نور", "<bdi>S1 نور</bdi>"),
        ("a\u202eb", "<bdi>a\u202eb</bdi>"),
    ],
)
def test_a_text_that_may_turn_what_stands_around_it_stands_apart(text: str, written: str) -> None:
    assert html.isolated(text) == written
    for unit in (Unit.TEXT, Unit.CODE):
        table = Table.of("Of one", (Column(key="name", heading="Name", unit=unit),), [(text,)])
        assert f"<th>{written}" in html.table(table, "../")
    noted = Marked(value="a", note=text)
    table = Table.of("Of one", (Column(key="name", heading="Name"),), [(noted,)])
    assert f"<th>a <small>{escape(text)}</small>" in html.table(table, "../")


def test_a_name_in_a_table_beside_a_page_is_not_run_by_a_spreadsheet() -> None:
    columns = (Column(key="name", heading="Name"), Column(key="n", heading="N", unit=Unit.NUMBER))
    rows = [(Link("=1+1"), 1), ((Link("@a"), Link("b")), 1200), ("-c", None)]
    written = table_csv(Table.of("Names", columns, rows)).decode("utf-8-sig").splitlines()
    assert written == ['"name","n"', '"\'=1+1",1', '"\'@a, b",1200', '"\'-c","–"']
