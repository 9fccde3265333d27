"""The film page in a browser, from disk: the slider by key and by touch, its address, play."""

from __future__ import annotations

import re
from collections.abc import Mapping
from fractions import Fraction
from pathlib import Path

import pytest
from playwright.sync_api import Locator, Page, expect

from credits.app.site import build_sites
from credits.editions import Edition
from credits.model.facts import Cut, CutClip
from credits.model.log import Batch
from credits.store.log import open_log
from tests.conftest import made_once
from tests.drawn import FULL
from tests.productions import production_from, written_tables
from tests.site.conftest import DESK, PHONE, Visitor
from tests.site.test_accessible import EVERYTHING, faults
from tests.site.test_site_in_browser import TOO_WIDE

pytestmark = pytest.mark.browser

# A film of 24 frames a second: a clip as it was shot, a gap of ten frames, one backwards at double
# speed, one at half speed, a frame held; and the second sequence.
TABLES = {
    "people": """person,credit_name,credit_wish
        ana,Ana Lind,
        ben,Ben Okoro,
        cai,Cai Reyes,
        hid,Hidden Name,uncredited""",
    "characters": """character,name
        wick,Wick
        brine,Brine""",
    "puppets": """puppet,character
        wick-1,wick
        brine-1,brine""",
    "sequences": "sequence,name\n010,The Quay\n020,The Storm",
    "shots": """shot,sequence,frames,description
        010-010,010,48,"Wick *waits*."
        010-020,010,48,
        020-010,020,48,""",
    "entries": """craft,person,character,puppet,shot,frames,finished_on
        sculpt,cai,wick,,,,2025-09-01
        casting,hid,wick,,,,2025-09-01
        animation,ana,,wick-1,010-010,1-24,2026-03-02
        animation,ben,,wick-1,010-010,25-48,2026-03-03
        animation,ana,,wick-1,010-020,1-20,2026-03-04
        animation,ben,,brine-1,010-020,11-48,2026-03-05
        animation,ben,,brine-1,020-010,1-48,2026-03-06""",
}
# Of each clip: shot, first and last shot frame, speed, first film frame, film frames.
CLIPS = (
    ("010-010", 1, 48, Fraction(1), 1, 48),
    ("010-020", 1, 48, Fraction(-2), 59, 24),
    ("010-020", 1, 12, Fraction(1, 2), 83, 24),
    ("020-010", 5, 5, Fraction(0), 107, 10),
    ("020-010", 1, 48, Fraction(1), 117, 48),
)
LENGTH = 164


CUT = Cut(
    version=1,
    source="cut.csv",
    length=LENGTH,
    clips=tuple(
        CutClip(
            order=order, shot=shot, take=None, source_first=first, source_last=last, speed=speed,
            film_first=at, shown=shown,
        )
        for order, (shot, first, last, speed, at, shown) in enumerate(CLIPS, 1)
    ),
)  # fmt: skip


def _make(folder: Path) -> None:
    film = production_from(folder / "film", [written_tables(folder / "tables", TABLES)])
    with open_log(film) as log, log.writing() as writer:
        writer.write(Batch(cut=CUT))
    build_sites(film, tuple(Edition), folder / "sites")


@pytest.fixture(scope="session")
def small_film(shared_folder: Path) -> Path:
    """The sites of a film of 164 frames."""
    return made_once(shared_folder / "small-film", _make) / "sites"


def strip_of(page: Page) -> Locator:
    return page.get_by_role("slider")


def frame_of(page: Page) -> int:
    return int(strip_of(page).get_attribute("aria-valuenow") or 0)


def hands_of(page: Page) -> list[str]:
    """The lines of who is behind the frame, below the name of each character."""
    lines = page.locator("[data-film-label] .film-hands").inner_text().splitlines()
    return [line.strip() for line in lines if line.strip()]


def opened(window_of: Visitor, site: Path, place: str = "", **options: object) -> Page:
    window = window_of(site, **options)
    page = window.page
    page.goto(f"{(window.site / 'film.html').as_uri()}{place}", wait_until="load")
    expect(page.locator(".film-at")).to_be_visible()
    return page


def test_the_slider_is_a_slider_that_tells_time_and_shot(small_film: Path, visit: Visitor) -> None:
    page = opened(visit, small_film / "crew")
    strip = strip_of(page)
    expect(strip).to_have_attribute("aria-valuetext", "0:00+00, shot 010-010, frame 1")
    assert strip.get_attribute("aria-valuemin") == "1"
    assert strip.get_attribute("aria-valuemax") == str(LENGTH)
    expect(page.locator(".film-where")).to_have_text(
        "Sequence 010, The Quay. Shot 010-010, frame 1."
    )
    expect(page.locator(".film-said")).to_have_text("Wick waits.")
    assert hands_of(page) == [
        "Wick", "Animation", "Ana Lind", "Puppet sculpting", "Cai Reyes", "Casting", "uncredited",
    ]  # fmt: skip


def test_keys_move_it_by_a_frame_by_a_change_and_to_the_ends(
    small_film: Path, visit: Visitor
) -> None:
    page = opened(visit, small_film / "crew")
    strip = strip_of(page)
    strip.focus()
    for key, frame in (
        ("ArrowRight", 2), ("ArrowRight", 3), ("ArrowLeft", 2), ("Shift+ArrowRight", 25),
        ("Shift+ArrowRight", 49), ("Shift+ArrowRight", 59), ("Shift+ArrowLeft", 49),
        ("Shift+ArrowLeft", 25), ("ArrowRight", 26), ("Shift+ArrowLeft", 25), ("End", LENGTH),
        ("ArrowRight", LENGTH), ("Shift+ArrowLeft", 117), ("ArrowLeft", 116), ("ArrowUp", 140),
        ("ArrowDown", 116), ("Home", 1), ("ArrowLeft", 1), ("Shift+ArrowLeft", 1),
    ):  # fmt: skip
        strip.press(key)
        expect(strip).to_have_attribute("aria-valuenow", str(frame))


@pytest.mark.parametrize(
    ("frame", "told"),
    [
        (48, "0:01+23, shot 010-010, frame 48"),
        (49, "0:02+00, nothing here"),
        (59, "0:02+10, shot 010-020, frame 48"),  # backwards, twice as fast
        (60, "0:02+11, shot 010-020, frame 46"),
        (82, "0:03+09, shot 010-020, frame 2"),
        (83, "0:03+10, shot 010-020, frame 1"),  # half as fast
        (84, "0:03+11, shot 010-020, frame 1"),
        (85, "0:03+12, shot 010-020, frame 2"),
        (107, "0:04+10, shot 020-010, frame 5"),  # held
        (116, "0:04+19, shot 020-010, frame 5"),
        (117, "0:04+20, shot 020-010, frame 1"),
    ],
)
def test_speeds_reversed_clips_and_gaps_show_the_right_frame(
    small_film: Path, visit: Visitor, frame: int, told: str
) -> None:
    page = opened(visit, small_film / "crew", f"#t={told.partition(',')[0]}")
    expect(strip_of(page)).to_have_attribute("aria-valuetext", told)
    assert frame_of(page) == frame
    if told.endswith("nothing here"):
        assert hands_of(page) == []
        expect(page.locator(".film-where")).to_contain_text("Nothing here")


def test_the_address_is_kept_as_it_moves_and_read_again(small_film: Path, visit: Visitor) -> None:
    page = opened(visit, small_film / "crew", "#t=0:04+20")
    assert frame_of(page) == 117
    strip_of(page).press("ArrowRight")
    page.wait_for_url(re.compile(r"#t=0:04\+21$"))
    page.reload()
    expect(strip_of(page)).to_have_attribute("aria-valuenow", "118")
    page.evaluate("location.hash = '#t=0:01+00'")
    expect(strip_of(page)).to_have_attribute("aria-valuenow", "25")
    for odd, frame in (("#t=9:59:59+00", LENGTH), ("#t=0:01", 25), ("#t=elsewhere", 25)):
        page.evaluate("place => { location.hash = place }", odd)
        expect(strip_of(page)).to_have_attribute("aria-valuenow", str(frame))


def test_space_plays_and_stops(small_film: Path, visit: Visitor) -> None:
    page = opened(visit, small_film / "crew")
    strip = strip_of(page)
    strip.press(" ")
    expect(page.get_by_role("button", name="Stop", exact=True)).to_be_visible()
    expect(strip).to_have_attribute("aria-valuenow", re.compile(r"1[3-9]|[2-9]\d|\d{3}"))
    strip.press(" ")
    expect(page.get_by_role("button", name="Play", exact=True)).to_be_visible()
    stopped = frame_of(page)
    page.evaluate("new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))")
    assert frame_of(page) == stopped < LENGTH


def test_it_plays_to_the_end_over_sequences_that_are_fetched_on_the_way(
    small_film: Path, visit: Visitor
) -> None:
    page = opened(visit, small_film / "crew")
    page.get_by_label("Speed").select_option("ten times as fast")
    page.get_by_role("button", name="Play", exact=True).click()
    expect(strip_of(page)).to_have_attribute("aria-valuenow", str(LENGTH))
    expect(page.get_by_role("button", name="Play", exact=True)).to_be_visible()
    expect(page.locator(".film-where")).to_contain_text("Sequence 020, The Storm")


def test_a_finger_drags_it(small_film: Path, visit: Visitor) -> None:
    page = opened(visit, small_film / "crew", viewport=PHONE, is_mobile=True, has_touch=True)
    strip = strip_of(page)
    strip.scroll_into_view_if_needed()
    box = strip.bounding_box()
    assert box is not None
    client = page.context.new_cdp_session(page)

    def touch(kind: str, *along: float) -> None:
        points = [{"x": box["x"] + box["width"] * at, "y": box["y"] + 12} for at in along]
        client.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})

    touch("touchStart", 0.2)
    expect(strip).to_have_attribute("aria-valuenow", re.compile("3[2-4]"))
    touch("touchMove", 0.4)
    touch("touchMove", 0.9)
    touch("touchEnd")
    expect(strip).to_have_attribute("aria-valuenow", re.compile("14[6-9]"))
    expect(page.locator(".film-where")).to_contain_text("Shot 020-010")


def test_a_person_picked_out_is_marked_on_the_strip_and_counted(
    small_film: Path, visit: Visitor
) -> None:
    page = opened(visit, small_film / "crew")
    page.get_by_role("button", name="Ana Lind").click()
    told = page.locator(".film-picked")
    # 24 frames of the first clip; shot frames 1-20 backwards and by half: 10 and 24 film frames.
    expect(told).to_contain_text("Ana Lind worked on 58 frames of the film")
    path = page.locator("[role=slider] svg path").get_attribute("d")
    assert path == "M0 0H146V1H0Z" + "M439 0H646V1H439Z"
    expect(told.get_by_role("link", name="Ana Lind")).to_have_attribute("href", "people/ana.html")
    page.wait_for_url(re.compile("who=ana"))
    told.get_by_role("button", name="Their next frames").click()
    assert frame_of(page) == 73
    page.reload()
    expect(told).to_contain_text("58 frames")
    expect(page.get_by_role("button", name="Ana Lind")).to_have_attribute("aria-pressed", "true")
    told.get_by_role("button", name="Clear").click()
    expect(told).to_be_empty()
    page.get_by_label("Whose work").select_option("Cai Reyes")
    expect(told).to_contain_text("Cai Reyes worked on 82 frames")


def test_only_the_data_that_is_wanted_is_fetched(small_film: Path, visit: Visitor) -> None:
    window = visit(small_film / "crew")
    asked: list[str] = []
    window.page.on("request", lambda request: asked.append(request.url.rpartition("film/")[2]))
    page = window.go("film.html")
    expect(page.locator(".film-hands")).to_contain_text("Ana Lind")
    assert "010.js" in asked
    assert not {"020.js", "people/ana.js"} & set(asked)
    strip_of(page).press("End")
    expect(page.locator(".film-hands")).to_contain_text("Ben Okoro")
    assert "020.js" in asked


def test_the_public_is_told_no_shots_no_days_and_nobody_who_is_not_credited(
    small_film: Path, visit: Visitor
) -> None:
    page = opened(visit, small_film / "public")
    expect(strip_of(page)).to_have_attribute("aria-valuetext", "0:00+00")
    assert hands_of(page) == [
        "Wick", "Animation", "Ana Lind", "Puppet sculpting", "Cai Reyes",
    ]  # fmt: skip
    expect(page.locator(".film-where")).to_be_empty()
    files = [small_film / "public/film.html", *(small_film / "public/film").rglob("*.js")]
    assert len(files) == 1 + 1 + 2 + 3
    for file in files:
        text = file.read_text("utf-8")
        for hidden in ("Hidden", "hid.js", "uncredited", "010-0", "Quay", "waits", "2026", "2025"):
            assert hidden not in text, (file, hidden)


@pytest.mark.parametrize("edition", Edition)
def test_without_a_script_the_strip_and_the_tables_are_there(
    small_film: Path, visit: Visitor, edition: Edition
) -> None:
    page = visit(small_film / edition, java_script_enabled=False).go("film.html")
    expect(page.get_by_role("heading", level=1)).to_have_text("The film")
    expect(page.get_by_role("table").last).to_contain_text("Brine")
    expect(page.locator(".film-at")).to_have_count(0)
    bands = page.locator("a.band")
    if edition is Edition.PUBLIC:
        expect(bands).to_have_count(0)
    else:
        expect(bands.first).to_have_attribute("href", "shots/index.html#s-010")
        expect(page.get_by_role("table").first).to_contain_text("The Storm")


def test_nothing_plays_for_who_asked_that_nothing_moves(small_film: Path, visit: Visitor) -> None:
    page = opened(visit, small_film / "crew", reduced_motion="reduce")
    expect(page.get_by_role("button", name="Next change")).to_be_visible()
    expect(page.get_by_role("button", name="Play", exact=True)).to_have_count(0)
    strip_of(page).press(" ")
    strip_of(page).press("ArrowRight")
    assert frame_of(page) == 2


@pytest.mark.parametrize(
    ("edition", "ground", "room"),
    [
        (edition, ground, room)
        for edition in (Edition.CREW, Edition.PUBLIC)
        for ground, room in (("light", PHONE), ("dark", DESK))
        if FULL or (edition is Edition.CREW) == (ground == "light")
    ],
)
def test_it_fits_and_axe_finds_nothing_with_somebody_picked_out(
    example_sites: Mapping[Edition, Path],
    visit: Visitor,
    edition: Edition,
    ground: str,
    room: dict[str, int],
) -> None:
    site = example_sites[edition]
    page = opened(visit, site, "#t=0:40+05&who=may", color_scheme=ground, viewport=room)
    expect(page.locator(".film-picked")).to_contain_text("of the film")
    assert page.evaluate(TOO_WIDE) is None
    assert faults(page, EVERYTHING) == []
