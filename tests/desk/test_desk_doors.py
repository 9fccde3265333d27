"""Who may speak to the desk: nobody but its own pages, in a browser that came in."""

from __future__ import annotations

import asyncio
import shutil
import time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from starlette.exceptions import HTTPException

from credits.desk import guard
from credits.desk.guard import DeskAddress
from credits.desk.server import LARGEST_POST, LARGEST_SHEET, Desk, Posted
from credits.model.facts import EntryNumber
from tests.desk.conftest import (
    ADDRESS,
    DAY,
    S1,
    TOKEN,
    Client,
    browser_at,
    client_of,
    come_in,
    in_a_row,
    lines_of,
)

READ = (
    "/",
    f"/day/{DAY}",
    f"/since?day={DAY}",
    f"/questions?day={DAY}",
    "/words",
    "/office/index.html",
)
WRITE = ("/log", "/amend", "/void", "/undo", "/load?name=a.csv", "/check")
ROW = {"day": DAY, "place": S1, "rows": [in_a_row()]}


@pytest.fixture
def before(film: Path) -> int:
    """How many lines the log has before anybody tries."""
    return len(lines_of(film))


@pytest.fixture(scope="module")
def still(small_film: Path, tmp_path_factory: pytest.TempPathFactory) -> Client:
    """A browser at a desk of which no test may write anything."""
    film = Path(shutil.copytree(small_film / "film", tmp_path_factory.mktemp("still") / "film"))
    return Client(come_in(client_of(film)), film)


@pytest.mark.parametrize("path", READ)
@pytest.mark.parametrize(
    "host", ["evil.example", "evil.example:8123", "localhost:8123", "127.0.0.1", "127.0.0.1:80", ""]
)
def test_another_host_is_not_served(still: Client, path: str, host: str) -> None:
    answer = still.http.get(path, headers={"host": host})
    assert answer.status_code == 421
    assert "Wick" not in answer.text


@pytest.mark.parametrize("path", WRITE)
@pytest.mark.parametrize(
    "origin",
    [
        "https://evil.example",
        "http://localhost:8123",
        "http://127.0.0.1",
        "https://127.0.0.1:8123",
        "null",
        "",
    ],
)
def test_another_origin_writes_nothing(still: Client, path: str, origin: str) -> None:
    before = len(still.lines)
    answer = still.http.post(path, json=ROW, headers={"origin": origin})
    assert answer.status_code == 403
    assert len(still.lines) == before


def test_a_post_without_an_origin_writes_nothing(client: Client, before: int) -> None:
    del client.http.headers["origin"]
    assert client.http.post("/log", json=ROW).status_code == 403
    assert len(client.lines) == before


@pytest.mark.parametrize("site", ["cross-site", "same-site", "none"])
def test_what_the_browser_calls_another_site_writes_nothing(still: Client, site: str) -> None:
    before = len(still.lines)
    headers = {"sec-fetch-site": site}
    assert still.http.post("/log", json=ROW, headers=headers).status_code == 403
    assert len(still.lines) == before


def test_a_form_of_another_kind_writes_nothing(client: Client, before: int) -> None:
    kind = {"content-type": "text/plain"}
    assert client.http.post("/log", content=b"{}", headers=kind).status_code == 415
    assert len(client.lines) == before


@pytest.mark.parametrize("path", [path for path in READ if path != "/office/index.html"])
def test_a_stranger_reads_nothing(film: Path, path: str) -> None:
    answer = client_of(film).get(path)
    assert answer.status_code in (401, 403)
    assert "Wick" not in answer.text


@pytest.mark.parametrize("path", WRITE)
def test_a_stranger_writes_nothing(film: Path, before: int, path: str) -> None:
    assert client_of(film).post(path, json=ROW).status_code == 401
    assert len(lines_of(film)) == before


@pytest.mark.parametrize("token", ["", "no", TOKEN[:-1], TOKEN + "x", "é", "\udcff"])
def test_a_wrong_token_lets_nobody_in(film: Path, token: str) -> None:
    http = client_of(film)
    answer = http.get("/enter", params={"token": token.encode("utf-8", "replace").decode()})
    assert answer.status_code == 403
    assert "set-cookie" not in answer.headers


def test_a_wrong_cookie_lets_nobody_in(film: Path) -> None:
    http = client_of(film)
    http.cookies.set("credits-desk-8123", TOKEN)
    assert http.get(f"/since?day={DAY}").status_code == 401


def test_the_cookie_is_for_this_program_alone(film: Path) -> None:
    answer = client_of(film).get(f"/enter?token={TOKEN}")
    cookie = answer.headers["set-cookie"].lower()
    assert "httponly" in cookie
    assert "samesite=strict" in cookie
    assert TOKEN not in cookie


@pytest.mark.parametrize("path", ["/log", "/amend", "/void", "/undo", "/load", "/check"])
@pytest.mark.parametrize("method", ["GET", "HEAD", "PUT", "DELETE", "PATCH", "OPTIONS"])
def test_nothing_is_written_but_by_post(still: Client, path: str, method: str) -> None:
    before = len(still.lines)
    answer = still.http.request(method, path, params={"name": "a.csv", "write": "1"})
    assert answer.status_code in (404, 405)
    assert len(still.lines) == before


@pytest.mark.parametrize("path", [*READ, "/style.css", "/desk.js", "/nothing", "/log"])
def test_every_answer_forbids_what_no_page_of_ours_needs(still: Client, path: str) -> None:
    headers = still.http.get(path).headers
    policy = headers["content-security-policy"]
    assert policy.startswith("default-src 'none'; script-src 'self';")
    assert "frame-ancestors 'none'" in policy
    assert "unsafe" not in policy
    assert headers["x-content-type-options"] == "nosniff"
    assert headers["cache-control"] == "no-store"
    assert headers["referrer-policy"] == "no-referrer"


def test_a_failure_carries_the_same_headers_and_no_traceback(
    client: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fails() -> None:
        raise ZeroDivisionError("secret")

    desk = Desk(client.folder, ADDRESS, TOKEN)
    monkeypatch.setattr(desk.kept, "now", fails)
    http = browser_at(desk)
    http._transport.raise_server_exceptions = False  # type: ignore[attr-defined]
    come_in(http)
    answer = http.get(f"/day/{DAY}")
    assert answer.status_code == 500
    assert "secret" not in answer.text
    assert answer.headers["content-security-policy"].startswith("default-src 'none'")


@pytest.mark.parametrize(
    "path",
    [
        "/office/../production.db", "/office/..%2fproduction.db", "/office/%2e%2e/production.toml",
        "/office/..\\production.db", "/office//etc/passwd", "/office/%2fetc/passwd",
        "/office/x%00.html",
        "/..%2f..%2fproduction.db", "/production.db", "/desk/desk.js", "/desk.js/../day.html",
        "/office/link.html", "/office/secret.db",
    ],
)  # fmt: skip
def test_nothing_is_served_but_the_desk_and_the_office_site(client: Client, path: str) -> None:
    site = client.folder / "site" / "office"
    site.mkdir(parents=True)
    (site / "index.html").write_text("<h1>Office</h1>")
    (site / "secret.db").write_text("secret")
    (site / "link.html").symlink_to(client.folder / "production.toml")
    assert client.http.get("/office/index.html").text == "<h1>Office</h1>"
    answer = client.http.get(path)
    assert answer.status_code == 404
    assert "SQLite" not in answer.text
    assert "title" not in answer.text


def test_a_picture_of_the_site_runs_nothing(client: Client) -> None:
    site = client.folder / "site" / "office"
    site.mkdir(parents=True)
    (site / "wick.svg").write_text("<svg onload='alert(1)'/>")
    answer = client.http.get("/office/wick.svg")
    assert answer.headers["content-type"] == "image/svg+xml"
    assert "sandbox" in answer.headers["content-security-policy"]
    assert "script-src" not in answer.headers["content-security-policy"]


def test_too_much_is_refused_before_it_is_read(client: Client, before: int) -> None:
    large = b"x" * (LARGEST_SHEET + 1)
    assert client.http.post("/load?name=a.csv", content=large).status_code == 413
    assert client.http.post("/load?name=a.csv", content=iter([large])).status_code == 413
    kind = {"content-type": "application/json"}
    assert (
        client.http.post("/log", content=b" " * (LARGEST_POST + 1), headers=kind).status_code == 413
    )
    assert len(client.lines) == before


@pytest.mark.parametrize(
    "body",
    [
        b"", b"{", b"[]", b"null", b"\xff\xfe", b"[" * 20_000,
        b'{"day":"2026-03-05","place":"%s","rows":[]}' % S1.encode(),
        b'{"day":"2026-03-05","place":"%s","rows":[["craft"]]}' % S1.encode(),
        b'{"day":"2026-03-05","place":"%s","rows":[{"craft":5}]}' % S1.encode(),
        b'{"day":"2026-03-05","place":"nowhere","rows":[{"craft":"paint"}]}',
        b'{"day":"5 March","place":"%s","rows":[{"craft":"paint"}]}' % S1.encode(),
        b'{"day":5,"place":[],"rows":{}}',
    ],
)  # fmt: skip
def test_what_no_page_posts_is_refused_in_words(client: Client, before: int, body: bytes) -> None:
    answer = client.http.post("/log", content=body, headers={"content-type": "application/json"})
    assert answer.status_code in (400, 404)
    assert answer.json()["problems"]
    assert len(client.lines) == before


@pytest.mark.parametrize(
    "day", ["today", "2026-3-5", "2026-02-30", "0000-00-00", "20260305", "x" * 300]
)
def test_a_day_that_is_none_is_not_found(client: Client, day: str) -> None:
    assert client.http.get(f"/day/{day}").status_code == 404


@pytest.mark.parametrize("day", ["0001-01-01", "9999-12-31"])
def test_the_ends_of_the_calendar_are_days(client: Client, day: str) -> None:
    assert client.page(day)


OPEN = DeskAddress("desk.film.example", 8443, is_open=True)


def test_for_other_machines_a_password_is_asked(film: Path) -> None:
    http = browser_at(Desk(film, OPEN, TOKEN, "correct horse"))
    assert http.get(f"/enter?token={TOKEN}").status_code in (200, 403)
    assert "set-cookie" not in http.get(f"/enter?token={TOKEN}").headers
    assert 'type="password"' in http.get("/").text
    assert http.get(f"/since?day={DAY}").status_code == 401
    answer = http.post("/enter", data={"password": "correct horse"})
    assert answer.status_code == 303
    assert "secure" in answer.headers["set-cookie"].lower()
    assert http.get(f"/day/{DAY}").status_code == 200


def test_a_wrong_password_is_said_and_makes_the_next_try_wait(
    film: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(guard, "FIRST_WAIT", 0.1)
    http = browser_at(Desk(film, OPEN, TOKEN, "correct horse"))
    took = []
    for _ in range(3):
        began = time.monotonic()
        answer = http.post("/enter", data={"password": "battery"})
        took.append(time.monotonic() - began)
        assert answer.status_code == 403
        assert "not the password" in answer.text
    assert took[2] >= 0.2
    assert http.post("/enter", data={"password": "correct horse"}).status_code == 303


def test_the_password_is_posted_from_the_desks_own_page_alone(film: Path) -> None:
    http = browser_at(Desk(film, OPEN, TOKEN, "correct horse"))
    headers = {"origin": "https://evil.example"}
    answer = http.post("/enter", data={"password": "correct horse"}, headers=headers)
    assert answer.status_code == 403
    assert "set-cookie" not in answer.headers


@pytest.mark.parametrize(
    ("address", "host"),
    [
        (DeskAddress("127.0.0.1", 8123), "127.0.0.1:8123"),
        (DeskAddress("127.0.0.1", 80), "127.0.0.1"),
        (DeskAddress("Desk.Example", 443, is_open=True), "desk.example"),
        (DeskAddress("::1", 8443, is_open=True), "[::1]:8443"),
    ],
)
def test_the_host_is_written_as_browsers_do(address: DeskAddress, host: str) -> None:
    assert address.netloc == host


def test_each_wrong_password_makes_the_next_try_wait_twice_as_long_up_to_a_limit(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    waited: list[float] = []

    async def sleep(seconds: float) -> None:
        waited.append(seconds)

    async def tries() -> list[bool]:
        door = guard.Door("right", slows=True)
        return [await door.opens(word) for word in [*["wrong"] * 8, "right", "wrong"]]

    monkeypatch.setattr(asyncio, "sleep", sleep)
    with ThreadPoolExecutor(1) as pool:  # a browser of other tests may have a loop of this thread
        assert pool.submit(asyncio.run, tries()).result() == [False] * 8 + [True, False]
    assert waited == [0.5, 1, 2, 4, 8, 16, 20, 20]


def test_the_last_fifty_things_that_a_browser_wrote_can_be_undone() -> None:
    session = guard.DeskSession("key")
    written = [(EntryNumber("A", number),) for number in range(1, 53)]
    for numbers in written:
        session.wrote(numbers)
        session.wrote(())
    assert session.done == written[-50:]


@pytest.mark.parametrize(("count", "status"), [(0, 400), (500, None), (501, 400)])
def test_as_many_rows_are_posted_at_once_as_a_sheet_may_have(
    count: int, status: int | None
) -> None:
    posted = Posted({"rows": [{"person": "ana"}] * count})
    if status is None:
        assert len(posted.rows()) == count
        return
    with pytest.raises(HTTPException) as refused:
        posted.rows()
    assert refused.value.status_code == status
