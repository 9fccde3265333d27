"""The desk in a real browser: a whole day typed by keyboard alone, and what else hands do there."""

from __future__ import annotations

import csv
import os
import re
import signal
import socket
import subprocess
import sys
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from threading import Thread
from typing import Any

import pytest
from playwright.sync_api import APIResponse, Browser, ConsoleMessage, Locator, Page, Route, expect
from uvicorn import Server

from credits.app.work.entries import cells_of
from credits.cli.desk import desk_server
from credits.desk.guard import DeskAddress
from credits.desk.server import Desk
from credits.formats.tables.load import plan_load
from credits.formats.tables.sheets import read_tables
from credits.model.log import LogLine
from credits.store.log import open_log
from tests.conftest import LONGEST_WAIT
from tests.desk.conftest import DAY, TOKEN, lines_of, log_elsewhere
from tests.desk.keyboard import ORDER, WHERE, Keyboard
from tests.drawn import FULL
from tests.productions import production_from

pytestmark = pytest.mark.browser

ROOT = Path(__file__).resolve().parents[2]


@dataclass
class Served:
    """A desk that `credits desk` serves."""

    folder: Path
    entrance: str

    @property
    def day(self) -> str:
        """The address of the day."""
        return f"{self.entrance.partition('/enter')[0]}/day/{DAY}"


Serve = Callable[[Path], Served]


@pytest.fixture(scope="module")
def closing() -> Iterator[list[Thread]]:
    """Desks that have been told to close; they take a moment, for which no test waits."""
    threads: list[Thread] = []
    yield threads
    for thread in threads:
        thread.join(LONGEST_WAIT / 1000)
        assert not thread.is_alive()


@pytest.fixture
def serve(closing: list[Thread]) -> Iterator[Serve]:
    """Serves desks as the command does, in threads of this process."""
    running: list[Server] = []

    def served(folder: Path) -> Served:
        bound = socket.create_server(("127.0.0.1", 0))
        address = DeskAddress("127.0.0.1", bound.getsockname()[1])
        desk = Desk(folder, address, TOKEN, has_site=False)
        server = desk_server(desk)
        thread = Thread(target=server.run, kwargs={"sockets": [bound]})
        thread.start()
        running.append(server)
        closing.append(thread)
        return Served(folder, desk.entrance)

    yield served
    for server in running:
        server.should_exit = True


@pytest.fixture
def serve_by_command() -> Iterator[Serve]:
    """Serves desks by the command, and ends them as Ctrl-C does."""
    running: list[subprocess.Popen[str]] = []

    def served(folder: Path) -> Served:
        words = ["desk", "--no-browser", "--no-site", "--production", str(folder)]
        process = subprocess.Popen(
            [sys.executable, "-m", "credits", *words],
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
            env={**os.environ, "PYTHONPATH": str(ROOT)},
        )
        running.append(process)
        assert process.stdout is not None
        return Served(folder, process.stdout.readline().strip())

    yield served
    for process in running:
        process.send_signal(signal.SIGINT)
        _, err = process.communicate(timeout=LONGEST_WAIT / 1000)
        assert process.returncode == 0
        assert "The desk is closed." in err
        assert "Traceback" not in err


Opened = Callable[..., Page]


@pytest.fixture
def opened(browser: Browser) -> Iterator[Opened]:
    """Opens windows at a desk. None may have complained, run a note, or asked outside.

    has_clock: the page's clock can be put forward.
    """
    complaints: list[str] = []
    contexts = []

    def open_at(served: Served, has_clock: bool = False, **options: Any) -> Page:
        context = browser.new_context(**{"viewport": {"width": 1280, "height": 900}, **options})
        contexts.append(context)
        context.set_default_timeout(LONGEST_WAIT)
        if has_clock:
            context.clock.install()
        page = context.new_page()
        origin = served.entrance.partition("/enter")[0]

        def is_bad(m: ConsoleMessage) -> bool:  # what the log refuses is answered with 422
            return m.type in ("error", "warning") and "status of 422" not in m.text

        page.on("console", lambda m: complaints.append(m.text) if is_bad(m) else None)
        page.on("pageerror", lambda error: complaints.append(str(error)))
        page.on("request", lambda r: None if r.url.startswith(origin) else complaints.append(r.url))
        page.on("dialog", lambda d: (complaints.append(d.message), d.dismiss()))
        page.add_init_script(
            "addEventListener('securitypolicyviolation',"
            " (event) => console.error('CSP', event.violatedDirective));"
        )
        context.request.get(served.entrance, max_redirects=0)  # lets in all windows of it
        with page.expect_response("**/words"):  # before them a field offers nothing
            page.goto(served.day)
        page.wait_for_function(
            "document.activeElement !== document.body || matchMedia('(pointer: coarse)').matches"
        )
        return page

    yield open_at
    for context in contexts:
        context.close()
    assert complaints == []


def place(page: Page, name: str) -> Locator:
    """The part of the page about a stage or a workshop."""
    return page.locator("section.place", has=page.get_by_role("heading", name=name))


def rows(section: Locator) -> Locator:
    """The entries of a place."""
    return section.locator(":scope > table > .entry")


# --- a day by keyboard alone


def _is_of_the_day(row: dict[str, str]) -> bool:
    return row["finished_on"] == DAY and row["craft"] == "animation"


@pytest.fixture
def day_before(example_tables: Path, tmp_path: Path) -> tuple[Path, list[dict[str, str]]]:
    """The example as it was on the evening before, its shots being shot; the day's animation."""
    tables, wanted = tmp_path / "tables", []
    tables.mkdir()
    for path in sorted(example_tables.glob("*.csv")):
        if path.stem not in ("cut", "replacements") and not path.stem.startswith("face"):
            text = path.read_text("utf-8")
            if path.stem == "shots":
                text = text.replace(",done,", ",shooting,")
            (tables / path.name).write_text(text, "utf-8")
    for path in sorted((example_tables / "entries").glob("*.csv")):
        with path.open(encoding="utf-8", newline="") as file:
            own = list(csv.DictReader(file))
        wanted += [row for row in own if _is_of_the_day(row)]
        with (tables / path.name).open("w", encoding="utf-8", newline="") as file:
            writer = csv.DictWriter(file, own[0].keys())
            writer.writeheader()
            writer.writerows(row for row in own if row["finished_on"] < DAY)
    return production_from(tmp_path / "film", [tables]), wanted


def _works(lines: tuple[LogLine, ...]) -> Counter[tuple[tuple[str, str], ...]]:
    return Counter(tuple(sorted(cells_of(line.work).items())) for line in lines if line.work)


def test_a_whole_day_is_typed_by_keyboard_alone_and_equals_the_sheet(
    day_before: tuple[Path, list[dict[str, str]]],
    tmp_path: Path,
    serve_by_command: Serve,
    opened: Opened,
    capsys: pytest.CaptureFixture[str],
) -> None:
    folder, wanted = day_before
    sheet = tmp_path / "entries-day.csv"
    with sheet.open("w", encoding="utf-8", newline="") as file:
        columns = [name for name in wanted[0] if name not in ("ref", "logged_by", "private")]
        writer = csv.DictWriter(file, columns, extrasaction="ignore")
        writer.writeheader()
        writer.writerows(wanted)
    with open_log(folder) as log:
        plan = plan_load(read_tables([sheet]), log.read())
    assert not plan.problems
    before = len(lines_of(folder))

    page = opened(serve_by_command(folder))
    hands = Keyboard(page, folder=folder)
    with open_log(folder) as log:
        known = log.read()
    people = {person.code: person.credit_name for person in known.people}
    for stage in sorted({row["stage"] for row in wanted}):
        while page.evaluate(WHERE) != stage:
            hands.press("Alt+PageDown")
        for row in (row for row in wanted if row["stage"] == stage):
            on = row["puppet"] or row["character"]
            cells = {
                **{name: (row[name], row[name]) for name in ORDER if row.get(name)},
                "craft": ("Animation", "animation"),
                "person": (people[row["person"]], row["person"]),
                "on": (on, on),
            }
            if not row["puppet"]:
                name = next(c.name for c in known.characters if c.code == on)
                cells["on"] = (name, on)
            hands.row(cells)

    typed = lines_of(folder)[before:]
    assert len(typed) == len(wanted) >= 10
    assert _works(typed) == _works(tuple(plan.batch.lines))  # type: ignore[arg-type]
    slowest, mean = max(hands.waits), sum(hands.waits) / len(hands.waits)
    notes = sum(len(row["note"]) for row in wanted)
    with capsys.disabled():
        print(
            f"\n{len(wanted)} entries: {hands.pressed / len(wanted):.1f} keys each"
            f" ({(hands.pressed - notes) / len(wanted):.1f} without the notes);"
            f" answered after {mean:.2f} s, at the slowest {slowest:.2f} s"
        )
    assert hands.pressed - notes <= 25 * len(wanted)


# --- single movements


@pytest.fixture
def page(film: Path, serve: Serve, opened: Opened) -> Page:
    """The day of the small production in a window."""
    return opened(serve(film))


def look(page: Page) -> None:
    """Come back to the window, which looks then at once for what others have logged."""
    page.evaluate("dispatchEvent(new Event('focus'))")


def draft(section: Locator, name: str) -> Locator:
    """A field of the last row that is being typed at a place."""
    return section.locator(f'.drafts input[name="{name}"]').last


def test_the_row_begins_filled_in_and_enter_alone_logs_nothing(page: Page) -> None:
    s1 = place(page, "Stage S1")
    expect(draft(s1, "person")).to_have_value("Ben Ødegård")
    expect(draft(s1, "frames")).to_have_value("21-")
    draft(s1, "frames").press("Enter")
    expect(page.locator("#said")).to_have_text("Nothing has been typed in this row yet.")
    expect(rows(s1)).to_have_count(1)


def test_the_list_of_words_is_a_combobox(page: Page) -> None:
    person = draft(place(page, "Stage S1"), "person")
    person.focus()
    expect(person).to_have_attribute("role", "combobox")
    person.fill("an")
    expect(person).to_have_attribute("aria-expanded", "true")
    marked = page.locator("#" + (person.get_attribute("aria-activedescendant") or ""))
    expect(marked).to_have_text(re.compile("Ana Lind"))
    person.press("Escape")
    expect(person).to_have_attribute("aria-expanded", "false")
    person.press("ArrowDown")
    person.press("Enter")
    expect(person).to_have_value("Ana Lind")
    expect(page.locator("#list")).to_be_hidden()


def test_what_is_wrong_is_said_in_text_by_the_row(page: Page) -> None:
    s1 = place(page, "Stage S1")
    frames = draft(s1, "frames")
    put(s1, frames="30-21")
    expect(frames).to_have_attribute("aria-invalid", "true")
    wrong = page.locator(f"#{frames.get_attribute('aria-describedby')}")
    expect(wrong).to_contain_text("Frames:")
    put(s1, frames="21-30")
    expect(frames).not_to_have_attribute("aria-invalid", "true")


def test_a_repeated_row_is_asked_about_and_enter_again_logs_it(page: Page) -> None:
    s1 = place(page, "Stage S1")
    put(s1, person="ana", on="wick", frames="1-2", minutes="60")
    draft(s1, "minutes").press("Enter")
    expect(rows(s1)).to_have_count(2)
    same = {
        "craft": "animation", "person": "ana", "on": "wick", "shot": "010-020", "take": "1",
        "frames": "1-2", "poses_on": "1", "minutes": "60", "share": "",
    }  # fmt: skip
    put(s1, **same)
    draft(s1, "minutes").press("Enter")
    expect(s1.locator(".drafts")).to_contain_text("A-5 says this already. Enter logs it once more")
    expect(rows(s1)).to_have_count(2)
    draft(s1, "minutes").press("Enter")
    expect(rows(s1)).to_have_count(3)


def test_what_a_repeated_row_asks_stays_until_the_row_is_changed(page: Page) -> None:
    s1 = place(page, "Stage S1")
    row = {"craft": "animation", "person": "ana", "on": "wick", "frames": "1-2", "minutes": "60"}
    put(s1, **row)
    draft(s1, "minutes").press("Enter")
    expect(rows(s1)).to_have_count(2)
    expect(draft(s1, "minutes")).to_have_value("")
    put(s1, **row)
    draft(s1, "minutes").press("Enter")
    drafts, asks = s1.locator(".drafts"), "Enter logs it once more"
    expect(drafts).to_contain_text(asks)
    draft(s1, "minutes").press("Tab")
    expect(drafts).to_contain_text(asks)
    put(s1, minutes="61")
    expect(drafts).not_to_contain_text(asks)


LOST = """(number) => {
  window.lost = 0;
  new MutationObserver(() => {
    if (!document.querySelector(`.entry[data-entry="${number}"]`)) window.lost++;
  }).observe(document.getElementById("day"), { childList: true, subtree: true });
}"""


def test_a_row_stays_when_an_answer_comes_that_was_asked_for_before_it(
    page: Page, film: Path
) -> None:
    held: list[tuple[Route, APIResponse]] = []

    def hold_the_first(route: Route) -> None:
        if held:
            route.continue_()
        else:
            held.append((route, route.fetch()))

    page.route("**/since**", hold_the_first)
    log_elsewhere(film, "repair", "cai", puppet="wick-1", finished_on=DAY, stage="S1")
    look(page)
    while not held:
        page.wait_for_timeout(20)
    s1 = place(page, "Stage S1")
    put(s1, frames="21-30", minutes="60")
    draft(s1, "minutes").press("Enter")
    expect(s1.locator('.entry[data-entry="A-6"]')).to_be_visible()
    page.evaluate(LOST, "A-6")
    (route, before_it) = held[0]
    route.fulfill(response=before_it)
    expect(s1.locator('.entry[data-entry="A-5"]')).to_be_visible()
    expect(s1.locator('.entry[data-entry="A-6"]')).to_be_visible()
    assert page.evaluate("window.lost") == 0


def test_the_value_above_is_copied_and_yesterdays_row_too(page: Page) -> None:
    s1 = place(page, "Stage S1")
    draft(s1, "note").press("Control+d")
    expect(draft(s1, "note")).to_have_value("The day's first")
    draft(s1, "craft").press("Alt+ArrowUp")
    expect(draft(s1, "person")).to_have_value("Ana Lind")
    draft(s1, "craft").press("Alt+ArrowUp")
    expect(draft(s1, "person")).to_have_value("Ben Ødegård")
    expect(draft(s1, "frames")).to_be_focused()
    s1.locator("summary").click()
    s1.locator("[data-copy]").first.press("Enter")
    expect(draft(s1, "person")).to_have_value("Ana Lind")


def put(section: Locator, **texts: str) -> None:
    """Write into fields of the last row that is being typed at a place."""
    for name, text in texts.items():
        draft(section, name).focus()  # where the caret goes is the page's, and fill comes after
        draft(section, name).fill(text)


PASTE = """(text) => {
  const clipboardData = new DataTransfer();
  clipboardData.setData("text/plain", text);
  document.activeElement.dispatchEvent(
    new ClipboardEvent("paste", { clipboardData, bubbles: true, cancelable: true }));
}"""


def test_rows_of_a_spreadsheet_are_pasted_and_logged_together_or_not_at_all(
    page: Page, film: Path
) -> None:
    s1 = place(page, "Stage S1")
    draft(s1, "craft").focus()
    page.evaluate(
        PASTE,
        "animation\tana\twick-1\t010-020\t1\t61-70\t2\t60\t\t\"two\nlines\"\n"
        "animation\tben\tbrine\t010-020\t1\t1-\t1\t60\n",
    )  # fmt: skip
    expect(s1.locator(".drafts .draft")).to_have_count(2)
    expect(draft(s1, "frames")).to_have_attribute("aria-invalid", "true")
    page.keyboard.press("Enter")
    expect(page.locator("#said")).to_contain_text("Not logged")
    assert len(lines_of(film)) == 4
    put(s1, frames="1-9")
    page.keyboard.press("Enter")
    expect(rows(s1)).to_have_count(3)
    assert len(lines_of(film)) == 6


def test_pasted_rows_may_have_a_header_of_their_own_order(page: Page, film: Path) -> None:
    s1 = place(page, "Stage S1")
    draft(s1, "craft").focus()
    page.evaluate(PASTE, "Minutes\tPerson\tCraft\tPuppet\tColour\n90\tana\trepair\twick-1\tred\n")
    expect(page.locator("#said")).to_contain_text("Not taken: Colour.")
    page.keyboard.press("Enter")
    expect(rows(s1)).to_have_count(2)
    work = lines_of(film)[-1].work
    assert work is not None
    assert (work.minutes, work.person, work.craft, work.puppet) == (90, "ana", "repair", "wick-1")


def test_an_entry_is_amended_and_voided_in_place(page: Page) -> None:
    s1 = place(page, "Stage S1")
    s1.get_by_role("button", name="Amend A-4").press("Enter")
    entry = rows(s1).first
    entry.locator("input[name=minutes]").fill("8:30")
    entry.locator("input[name=why]").fill("misread")
    page.keyboard.press("Enter")
    amended = s1.locator('.entry[data-entry="A-5"]')
    expect(amended.locator("[data-field=minutes]")).to_have_text("510")
    expect(amended).to_contain_text("A-4: Ana Lind animated")
    s1.get_by_role("button", name="Void A-5").press("Enter")
    page.keyboard.press("Enter")
    expect(page.locator("#said")).to_contain_text("a void needs a reason")
    page.keyboard.type("never done")
    page.keyboard.press("Enter")
    expect(s1.locator(".entry.void")).to_contain_text("Why: never done")
    page.keyboard.press("Alt+z")
    expect(s1.locator('.entry[data-entry="A-7"]')).to_be_visible()


def test_the_first_and_the_last_field_are_one_chord_away(page: Page) -> None:
    s1 = place(page, "Stage S1")
    draft(s1, "frames").press("Control+Home")
    expect(draft(s1, "craft")).to_be_focused()
    page.keyboard.press("Control+End")
    expect(draft(s1, "note")).to_be_focused()


def test_more_fields_are_opened_by_a_key_and_amended_with_the_others(
    page: Page, film: Path
) -> None:
    s1 = place(page, "Stage S1")
    expect(draft(s1, "wait_minutes")).to_be_hidden()
    put(s1, craft="repair", person="cai", on="wick-1", frames="", minutes="20")
    page.keyboard.press("Alt+m")
    expect(draft(s1, "wait_minutes")).to_be_focused()
    page.keyboard.type("15")
    page.keyboard.press("Enter")
    entry = s1.locator('.entry[data-entry="A-5"]')
    expect(entry).to_contain_text("Minutes waited: 15.")
    expect(draft(s1, "wait_minutes")).to_be_hidden()
    s1.get_by_role("button", name="Amend A-5").press("Enter")
    expect(entry.locator("input[name=wait_minutes]")).to_have_value("15")
    entry.locator("input[name=wait_minutes]").fill("10")
    page.keyboard.press("Enter")
    expect(s1.locator('.entry[data-entry="A-6"]')).to_contain_text("Minutes waited: 10.")
    work = lines_of(film)[-1].work
    assert work is not None
    assert (work.wait_minutes, work.minutes) == (10, 20)


def test_escape_leaves_a_correction_as_it_was(page: Page, film: Path) -> None:
    s1 = place(page, "Stage S1")
    s1.get_by_role("button", name="Amend A-4").press("Enter")
    rows(s1).first.locator("input[name=minutes]").fill("1")
    page.keyboard.press("Escape")
    expect(s1.get_by_role("button", name="Amend A-4")).to_be_focused()
    expect(rows(s1).first.locator("[data-field=minutes]")).to_have_text("480")
    assert len(lines_of(film)) == 4


def test_lines_of_others_come_in_without_disturbing_what_is_typed(
    film: Path, serve: Serve, opened: Opened
) -> None:
    page = opened(serve(film), has_clock=True)
    s1 = place(page, "Stage S1")
    draft(s1, "note").fill("half a sent")
    cells = {"finished_on": DAY, "stage": "S1", "note": "<img src=x onerror=alert(1)>"}
    log_elsewhere(film, "repair", "cai", puppet="wick-1", **cells)
    page.clock.fast_forward("00:03")
    expect(s1.locator('.entry[data-entry="A-5"]')).to_be_visible()
    expect(draft(s1, "note")).to_have_value("half a sent")
    expect(draft(s1, "note")).to_be_focused()
    expect(page.locator("#summary")).to_contain_text("2 entries")
    expect(page.locator("#said")).to_contain_text("1 entry of others came in")


def test_a_correction_that_is_open_keeps_the_focus_when_others_log(page: Page, film: Path) -> None:
    s1 = place(page, "Stage S1")
    s1.get_by_role("button", name="Void A-4").press("Enter")
    page.keyboard.type("never ")
    log_elsewhere(film, "repair", "cai", puppet="wick-1", finished_on=DAY, stage="S1")
    look(page)
    expect(s1.locator('.entry[data-entry="A-5"]')).to_be_visible()
    page.keyboard.type("done")
    page.keyboard.press("Enter")
    expect(s1.locator(".entry.void")).to_contain_text("Why: never done")


def test_two_windows_log_at_once_and_see_each_other(
    film: Path, serve: Serve, opened: Opened
) -> None:
    served = serve(film)
    pages = [opened(served), opened(served)]
    for at in range(2):
        for page, person in zip(pages, ("ana", "ben"), strict=True):
            s1 = place(page, "Stage S1")
            put(s1, craft="animation", person=person, on="wick", frames="", minutes=str(at + 1))
            draft(s1, "minutes").press("Enter")
            expect(draft(s1, "minutes")).to_have_value("")
    for page in pages:
        look(page)
        expect(rows(place(page, "Stage S1"))).to_have_count(5)
    assert len(lines_of(film)) == 8


def test_a_sheet_is_chosen_its_report_read_and_written(page: Page, tmp_path: Path) -> None:
    sheet = tmp_path / "entries-new.csv"
    sheet.write_text(f"craft,person,character,minutes,finished_on\npaint,cai,wick,30,{DAY}\n")
    page.locator("#sheet").set_input_files(sheet)
    report = page.locator("#report")
    expect(report).to_contain_text("Nothing is written yet")
    report.get_by_role("button", name="Write it").press("Enter")
    expect(report).to_contain_text("Written.")
    expect(page.locator('.entry[data-entry="A-5"]')).to_be_visible()
    sheet.write_text("craft,person,character\npaint,<script>alert(1)</script>,wick\n")
    page.locator("#sheet").set_input_files(sheet)
    expect(report).to_contain_text("Nothing was written: 1 problem.")


DROP = """([name, text]) => {
  const dataTransfer = new DataTransfer();
  dataTransfer.items.add(new File([text], name));
  document.querySelector("main").dispatchEvent(
    new DragEvent("drop", { dataTransfer, bubbles: true, cancelable: true }));
}"""


def test_a_sheet_is_dropped_and_what_is_chosen_about_it_is_written(page: Page, film: Path) -> None:
    sheet = f"craft,person,character,minutes,finished_on\npaint,cai,wick,30,{DAY}\n"
    gone = f"hair,cai,wick,20,{DAY}\n"
    page.evaluate(DROP, ["entries-new.csv", sheet + gone])
    report = page.locator("#report")
    report.get_by_role("button", name="Write it").press("Enter")
    expect(report).to_contain_text("Written.")
    page.evaluate(DROP, ["entries-new.csv", sheet.replace("30", "40")])
    expect(report).to_contain_text("Nothing in it is new, but rows of it have changed")
    box = report.get_by_label("Write the changed row as an amendment")
    box.press("Space")
    why = report.get_by_label("Void the 1 row that is gone, because")
    why.fill("never done")
    why.press("Enter")
    expect(report).to_contain_text("This is what it would write")
    expect(box).to_be_checked()
    expect(why).to_have_value("never done")
    assert len(lines_of(film)) == 6
    report.get_by_role("button", name="Write it").press("Enter")
    expect(report).to_contain_text("Written.")
    said = [(line.verb.value, str(line.corrects), line.why) for line in lines_of(film)[6:]]
    assert said == [("amend", "A-5", None), ("void", "A-6", "never done")]
    page.evaluate(DROP, ["entries-other.csv", sheet.replace("30", "50")])
    expect(report.get_by_label("Known as")).to_have_value("entries-other")


def test_no_name_code_or_note_runs(tmp_path: Path, serve: Serve, opened: Opened) -> None:
    bad = "<img src=x onerror=alert(1)><script>alert(2)</script>"
    tables = tmp_path / "tables"
    tables.mkdir()

    def write(name: str, *lines: list[str]) -> None:
        with (tables / f"{name}.csv").open("w", encoding="utf-8", newline="") as file:
            csv.writer(file).writerows(lines)

    write("people", ["person", "credit_name"], ["ana", bad])
    write("engagements", ["person", "department", "job_title"], ["ana", bad, bad])
    write("characters", ["character", "name"], ["wick", f"{bad} 2"])
    write("puppets", ["puppet", "character"], ["<b>w1", "wick"])
    write("stages", ["stage", "unit"], ["<i>S1", bad])
    write("crafts", ["craft", "name", "department", "kind"], ["c1", f"{bad} 3", bad, "build"])
    write("entries", ["craft", "person", "puppet", "minutes", "finished_on", "stage", "note"],
          ["c1", "ana", "<b>w1", "5", DAY, "<i>S1", bad],
          ["c1", "ana", "<b>w1", "5", "2026-03-04", "<i>S1", "=cmd()"])  # fmt: skip
    film = production_from(tmp_path / "film", [tables], title=f"The {bad} Film")
    page = opened(serve(film))
    section = page.locator("section.place").first
    expect(section).to_contain_text(bad)
    person = section.locator('.drafts input[name="person"]')
    person.fill("a")
    expect(page.locator("#list")).to_contain_text("onerror")
    person.press("Tab")
    for name, text in (("craft", "c1"), ("on", "wick"), ("note", bad), ("minutes", "7")):
        section.locator(f'.drafts input[name="{name}"]').fill(text)
    section.locator('.drafts input[name="minutes"]').press("Enter")
    expect(rows(section)).to_have_count(2)
    assert page.locator("main img, main script, main b").count() == 0


def test_words_that_come_late_are_offered_to_who_has_typed_already(
    film: Path, serve: Serve, opened: Opened
) -> None:
    page = opened(serve(film))
    waiting: list[Route] = []
    page.route("**/words", lambda route: waiting.append(route))
    page.reload()
    while not waiting:
        page.wait_for_timeout(20)
    person = page.locator('section.place .drafts input[name="person"]').first
    person.fill("an")
    expect(page.locator("#list")).to_be_hidden()
    waiting[0].continue_()
    expect(page.locator("#list")).to_contain_text("Ana")
    expect(person).to_have_attribute("aria-expanded", "true")


SIZES = [(1024, 768), (768, 1024), *([(1280, 900)] if FULL else [])]


@pytest.mark.parametrize("size", SIZES)
def test_the_page_fits_and_can_be_touched(
    film: Path, serve: Serve, opened: Opened, size: tuple[int, int]
) -> None:
    is_tablet = size[0] < 1000
    view = {"width": size[0], "height": size[1]}
    page = opened(serve(film), viewport=view, has_touch=is_tablet, is_mobile=is_tablet)
    assert page.evaluate("document.scrollingElement.scrollWidth <= innerWidth")
    small = page.evaluate(
        "[...document.querySelectorAll('main button, main input, main select')]"
        ".filter((e) => e.offsetParent).map((e) => e.getBoundingClientRect().height)"
    )
    assert min(small) >= (44 if is_tablet else 16)


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_axe_finds_nothing(film: Path, serve: Serve, opened: Opened, scheme: str) -> None:
    from axe_playwright_python.sync_playwright import Axe

    page = opened(serve(film), color_scheme=scheme, bypass_csp=True)
    s1 = place(page, "Stage S1")
    s1.get_by_role("button", name="Amend A-4").click()
    put(s1, frames="9-1")
    expect(draft(s1, "frames")).to_have_attribute("aria-invalid", "true")
    of_colours = {"runOnly": {"type": "rule", "values": ["color-contrast", "link-in-text-block"]}}
    options = of_colours if scheme == "dark" and not FULL else None
    found = Axe().run(page, options=options).response["violations"]
    assert [
        (each["id"], [node["html"][:120] for node in each["nodes"][:3]]) for each in found
    ] == []
