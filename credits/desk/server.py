"""The desk's addresses: a page to read the day on, and what it posts."""

from __future__ import annotations

import json
from collections.abc import Awaitable, Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path, PurePosixPath
from typing import Any
from urllib.parse import parse_qs

from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import ClientDisconnect, Request
from starlette.responses import FileResponse, HTMLResponse, RedirectResponse, Response
from starlette.routing import Route

from credits.app.kept import FIELDS, RARE_FIELDS, KeptLog, LogState
from credits.app.work import desk as use
from credits.app.work.rows import TypedRow
from credits.desk import page
from credits.desk.guard import (
    PICTURE_POLICY,
    SITE_POLICY,
    DeskAddress,
    DeskSession,
    Door,
    Guard,
    Sessions,
)
from credits.desk.report import chosen, report_html
from credits.editions import Edition
from credits.errors import CreditsError, Finding, LogUnusable
from credits.files import shipped
from credits.footage.day import Workplace
from credits.formats.tables.again import Choices
from credits.site.render import rendered
from credits.temporary import own_folder

LARGEST_SHEET = 20_000_000
LARGEST_POST = 1_000_000
MOST_ROWS = 500
LONGEST_TEXT = 100_000

_KINDS = {
    ".html": "text/html; charset=utf-8",
    ".css": "text/css; charset=utf-8",
    ".js": "text/javascript; charset=utf-8",
    ".svg": "image/svg+xml",
    ".png": "image/png",
    ".jpg": "image/jpeg",
    ".jpeg": "image/jpeg",
}
"""What the office site is made of; any other file is not served."""

_OWN_FILES = {
    "style.css": "style.css",
    "desk.css": "desk/desk.css",
    "desk.js": "desk/desk.js",
}

Fields = dict[str, str]


class JsonAnswer(Response):
    """An answer in JSON, in ASCII alone: half a character that somebody typed passes too."""

    media_type = "application/json"

    def render(self, content: Any) -> bytes:
        """Write the value."""
        return json.dumps(content, separators=(",", ":")).encode("ascii")


@dataclass(frozen=True, slots=True)
class Posted:
    """What a page posted: the fields that it may have, checked for their kind."""

    values: Mapping[str, Any]

    def text(self, name: str) -> str:
        """Return a text; empty where it was not given."""
        return _text(self.values.get(name, ""))

    def flag(self, name: str) -> bool:
        """Return whether something was said to be so."""
        return self.values.get(name) is True

    def fields(self, value: object) -> Fields:
        """Return the fields of a row."""
        if not isinstance(value, dict):
            raise HTTPException(400, "A row is an object of texts.")
        known = {*FIELDS, *RARE_FIELDS, *use.ALSO_AMENDED}
        return {name: _text(text) for name, text in value.items() if name in known}

    def rows(self) -> list[Fields]:
        """Return the rows."""
        rows = self.values.get("rows")
        if not isinstance(rows, list) or not 0 < len(rows) <= MOST_ROWS:
            raise HTTPException(400, f"Post 1 to {MOST_ROWS} rows.")
        return [self.fields(row) for row in rows]

    def day(self) -> date:
        """Return the day of the page."""
        return day_of(self.text("day"))

    def place(self, state: LogState) -> Workplace:
        """Return the place of the row."""
        place = page.place_of(self.text("place"), state.ledger)
        if place is None:
            raise HTTPException(400, "No stage or workshop has this key; load the page again.")
        return place


def _text(value: object) -> str:
    if not isinstance(value, str) or len(value) > LONGEST_TEXT:
        raise HTTPException(400, f"A field is a text of at most {LONGEST_TEXT} characters.")
    return value


def day_of(text: str) -> date:
    """Read the day of an address. Raises HTTPException 404."""
    try:
        day = date.fromisoformat(text)
    except ValueError:
        raise HTTPException(404, "A day is written like 2026-03-05.") from None
    if day.isoformat() != text:
        raise HTTPException(404, "A day is written like 2026-03-05.")
    return day


class Desk:
    """The page on which the day is logged, for everybody who came in.

    password: with one, browsers come in by it; without, by the token of this run in ``entrance``.
    """

    def __init__(
        self,
        folder: Path,
        address: DeskAddress,
        token: str,
        password: str | None = None,
        has_site: bool = True,
    ) -> None:
        self.kept = KeptLog(folder)
        self.address = address
        self.entrance = address.origin + ("/" if password else f"/enter?token={token}")
        self._has_password = password is not None
        self._door = Door(token if password is None else password, slows=password is not None)
        self._sessions = Sessions(address)
        self._site = folder / "site" / Edition.OFFICE.value if has_site else None
        self._words: tuple[tuple[object, ...], str, bytes] | None = None
        posts: dict[str, Callable[[Posted, DeskSession], object]] = {
            "/check": self._check,
            "/log": self._log,
            "/amend": self._amend,
            "/void": self._void,
            "/undo": self._undo,
        }
        routes = Starlette(
            routes=[
                Route("/", self._today, methods=["GET"]),
                Route("/enter", self._enter, methods=["GET", "POST"]),
                Route("/day/{day}", self._page, methods=["GET"]),
                Route("/since", self._since, methods=["GET"]),
                Route("/questions", self._asked, methods=["GET"]),
                Route("/words", self._complete, methods=["GET"]),
                Route("/load", self._load, methods=["POST"]),
                *(Route(path, self._posted(act), methods=["POST"]) for path, act in posts.items()),
                Route("/office/{path:path}", self._office, methods=["GET"]),
                Route("/{name}", self._file, methods=["GET"]),
            ],
            exception_handlers={
                HTTPException: _refused,
                CreditsError: _unusable,
                Exception: _failed,
            },
        )

        self.app = Guard(routes, address)

    # --- coming in

    def _session(self, request: Request) -> DeskSession:
        session = self._sessions.of(request.cookies.get(self._sessions.cookie))
        if session is None:
            raise HTTPException(401, "Come in by the desk's own address.")
        return session

    async def _enter(self, request: Request) -> Response:
        """Let a browser in that has the token of this run, or knows the password."""
        said = ""
        if request.method == "GET" and not self._has_password:
            if await self._door.opens(request.query_params.get("token", "")):
                return self._let_in()
            return self._closed("That is not the address of this run.")
        if request.method == "POST" and self._has_password:
            form = parse_qs((await _body(request, LARGEST_POST)).decode("utf-8", "replace"))
            if await self._door.opens(form.get("password", [""])[0]):
                return self._let_in()
            said = "That is not the password."
        return self._closed(said)

    def _let_in(self) -> Response:
        response = RedirectResponse("/", 303)
        self._sessions.begin(response)
        return response

    def _closed(self, said: str = "") -> Response:
        html = rendered("desk/enter.html", asks=self._has_password, said=said)
        return HTMLResponse(html, 403 if said or not self._has_password else 200)

    # --- reading

    async def _today(self, request: Request) -> Response:
        if self._sessions.of(request.cookies.get(self._sessions.cookie)) is None:
            return self._closed()
        return RedirectResponse(f"/day/{date.today().isoformat()}", 303)

    async def _page(self, request: Request) -> Response:
        if self._sessions.of(request.cookies.get(self._sessions.cookie)) is None:
            return self._closed()
        day = day_of(request.path_params["day"])
        return HTMLResponse(await run_in_threadpool(self._page_of, day))

    def _page_of(self, on: date) -> str:
        state = self.kept.now()
        return rendered(
            "desk/day.html",
            film=state.written.production.title,
            day=page.shown_day(state, on),
            position=_position(state),
            words=self._words_of(state)[0],
            has_site=self._site is not None,
            is_today=on == date.today(),
            largest=LARGEST_SHEET,
        )

    async def _since(self, request: Request) -> Response:
        """Answer what the day looks like, if the log has moved since a position."""
        self._session(request)
        day = day_of(request.query_params.get("day", ""))
        known = request.query_params.get("position", "")
        return JsonAnswer(await run_in_threadpool(self._moved, day, known))

    def _moved(self, on: date, known: str) -> dict[str, object]:
        state = self.kept.now()
        if _position(state) == known:
            return {"moved": False}
        return {"moved": True, **self._day_json(state, on)}

    def _day_json(self, state: LogState, on: date) -> dict[str, object]:
        day = page.shown_day(state, on)
        return {
            "position": _position(state),
            "words": self._words_of(state)[0],
            "summary": day.summary,
            "html": page.day_html(day),
        }

    async def _asked(self, request: Request) -> Response:
        """Answer the open questions about the entries of a day."""
        self._session(request)
        day = day_of(request.query_params.get("day", ""))
        return JsonAnswer(await run_in_threadpool(self._questions, day))

    def _questions(self, on: date) -> dict[str, object]:
        state = self.kept.now()
        found = state.questions(on)
        return {
            "position": _position(state),
            "questions": {str(number): [*map(page.question, own)] for number, own in found.items()},
            "count": len({id(check) for own in found.values() for check in own}),
        }

    async def _complete(self, request: Request) -> Response:
        """Answer the words that the fields complete."""
        self._session(request)
        _, content = await run_in_threadpool(lambda: self._words_of(self.kept.now()))
        return Response(content, media_type="application/json")

    def _words_of(self, state: LogState) -> tuple[str, bytes]:
        """Return the words of the tables, and what they are known by; anew when tables change."""
        log = state.written
        tables = (log.crafts, log.people, log.characters, log.puppets, log.parts, log.shots,
                  log.sequences, log.stages)  # fmt: skip
        kept = self._words
        if kept is None or any(a is not b for a, b in zip(kept[0], tables, strict=True)):
            content = json.dumps(page.words_json(state), separators=(",", ":")).encode("ascii")
            kept = self._words = (tables, _position(state), content)
        return kept[1:]

    # --- writing

    def _posted(
        self, act: Callable[[Posted, DeskSession], object]
    ) -> Callable[[Request], Awaitable[Response]]:
        async def answer(request: Request) -> Response:
            session = self._session(request)
            if request.headers.get("content-type", "").partition(";")[0] != "application/json":
                raise HTTPException(415, "Post JSON.")
            body = await _body(request, LARGEST_POST)
            try:
                values = json.loads(body)
            except (ValueError, RecursionError):
                raise HTTPException(400, "That is no JSON.") from None
            if not isinstance(values, dict):
                raise HTTPException(400, "Post an object.")
            try:
                return JsonAnswer(await run_in_threadpool(act, Posted(values), session))
            except LogUnusable:
                raise
            except CreditsError as error:
                return JsonAnswer({"problems": [*map(str, error.findings)]}, 422)

        return answer

    def _check(self, posted: Posted, _: DeskSession) -> object:
        """Read rows as they are being typed."""
        state = self.kept.now()
        given: Fields = {}
        if posted.text("place"):
            given = use.place_cells(posted.place(state), posted.day())
        today = date.today()
        rows = posted.rows()
        read = [use.read_desk_row(row, given, state.written, today) for row in rows]
        return {"rows": _rows_json(read, rows, state)}

    def _log(self, posted: Posted, session: DeskSession) -> object:
        state, on, rows = self.kept.now(), posted.day(), posted.rows()
        place = posted.place(state)
        done = use.log_rows(
            self.kept, rows, use.place_cells(place, on), date.today(),
            posted.text("by"), posted.flag("again"),
        )  # fmt: skip
        session.wrote(done.numbers)
        if not done.answers:
            return self._refused_rows(done, rows)
        last = done.answers[-1].entry
        begins = use.next_row(done.state, place, on, last.work) if last else {}
        return {"next": begins, **self._written(done)}

    def _refused_rows(self, done: use.DeskWritten, rows: list[Fields]) -> object:
        read = _rows_json(done.rows, rows, done.state)
        return {"rows": read, "repeats": not any(row["wrong"] for row in read)}

    def _written(self, done: use.DeskWritten) -> dict[str, object]:
        """Answer what was written: each line's row, where it stands, and what is said of it."""
        answers = {str(each.number): page.answer_json(done.state, each) for each in done.answers}
        return {"answers": answers}

    def _amend(self, posted: Posted, session: DeskSession) -> object:
        changes = posted.fields(posted.values.get("fields"))
        done = use.amend_row(
            self.kept, posted.text("number"), changes, date.today(),
            posted.text("why"), posted.text("by"),
        )  # fmt: skip
        session.wrote(done.numbers)
        if any(row.findings for row in done.rows):
            return {"rows": _rows_json(done.rows, [changes], done.state)}
        return self._written(done)

    def _void(self, posted: Posted, session: DeskSession) -> object:
        done = use.void_row(self.kept, posted.text("number"), posted.text("why"), posted.text("by"))
        session.wrote(done.numbers)
        return self._written(done)

    def _undo(self, posted: Posted, session: DeskSession) -> object:
        """Take back what this browser wrote last."""
        if not session.done:
            what = "nothing was written here that could be undone"
            raise CreditsError(Finding(what, "Void or amend the entry itself."))
        numbers = session.done.pop()
        try:
            done = use.undo(self.kept, numbers, posted.text("by"))
        except LogUnusable:
            session.done.append(numbers)
            raise
        undone = ", ".join(map(str, numbers))
        return {"undone": f"Undone: {undone}.", **self._written(done)}

    async def _load(self, request: Request) -> Response:
        """Report what a sheet would write; or write it."""
        self._session(request)
        asked = request.query_params
        name = _file_name(asked.get("name", ""))
        data = await _body(request, LARGEST_SHEET)
        writes, choices = asked.get("write") == "1", chosen(asked)
        html = await run_in_threadpool(self._load_sheet, name, data, writes, choices)
        return JsonAnswer({"html": html})

    def _load_sheet(self, name: str, data: bytes, writes: bool, choices: Choices) -> str:
        with own_folder() as own:
            sheet = own / name
            sheet.write_bytes(data)
            plan = use.load_sheet(self.kept.folder, sheet, writes, choices)
        return report_html(plan, name, writes, choices)

    # --- files

    async def _file(self, request: Request) -> Response:
        if request.path_params["name"] == "favicon.ico":
            return Response(status_code=204)
        path = _OWN_FILES.get(request.path_params["name"])
        if path is None:
            raise HTTPException(404, "There is nothing at this address.")
        return FileResponse(shipped("site_templates") / path, media_type=_KINDS[Path(path).suffix])

    async def _office(self, request: Request) -> Response:
        """Serve a page of the office site, from its folder alone."""
        if self._sessions.of(request.cookies.get(self._sessions.cookie)) is None:
            return self._closed()
        way = request.path_params["path"]
        if not way:
            return RedirectResponse("/office/index.html", 303)
        found = await run_in_threadpool(self._site_file, way)
        if found is None:
            raise HTTPException(404, "The office site has no such page, or is not built yet.")
        kind = _KINDS[found.suffix]
        policy = SITE_POLICY if kind.startswith("text/") else PICTURE_POLICY
        return FileResponse(found, media_type=kind, headers={"content-security-policy": policy})

    def _site_file(self, way: str) -> Path | None:
        if self._site is None or "\0" in way or "\\" in way:
            return None
        try:
            root = self._site.resolve()
            found = (root / PurePosixPath(way)).resolve()
            is_there = found.is_relative_to(root) and found.is_file()
        except OSError:
            return None
        return found if is_there and found.suffix in _KINDS else None


def _rows_json(
    read: Sequence[TypedRow], rows: Sequence[Fields], state: LogState
) -> list[dict[str, object]]:
    return [page.read_json(*each, state.written) for each in zip(read, rows, strict=True)]


def _position(state: LogState) -> str:
    return "-".join(map(str, state.position))


async def _body(request: Request, largest: int) -> bytes:
    """Read what was posted. Raises HTTPException 413 as soon as it is too much."""
    too_much = HTTPException(413, f"That is larger than {largest // 1_000_000} MB.")
    said = request.headers.get("content-length", "0")
    if not (said.isascii() and said.isdigit() and len(said) < 16) or int(said) > largest:
        raise too_much
    body = bytearray()
    try:
        async for part in request.stream():
            body += part
            if len(body) > largest:
                raise too_much
    except ClientDisconnect:
        raise HTTPException(400, "The rest never came.") from None
    return bytes(body)


def _file_name(given: str) -> str:
    """Return the name of a dropped file as it may stand in a folder of ours."""
    name = given.replace("\\", "/").rpartition("/")[2]
    name = "".join(c if c.isprintable() else "_" for c in name).strip().lstrip(".")
    if not Path(name).suffix or len(name.encode("utf-8", "replace")) > 200:
        raise HTTPException(400, "The file needs a name such as entries-stage-5.xlsx.")
    return name


async def _refused(_: Request, error: Exception) -> Response:
    assert isinstance(error, HTTPException)
    return JsonAnswer({"problems": [error.detail]}, error.status_code)


async def _unusable(_: Request, error: Exception) -> Response:
    assert isinstance(error, CreditsError)
    return JsonAnswer({"problems": [*map(str, error.findings)]}, 503)


async def _failed(_: Request, error: Exception) -> Response:
    name = type(error).__name__
    said = f"The desk has failed with {name}. Nothing that was not confirmed has been written."
    return JsonAnswer({"problems": [said]}, 500)
