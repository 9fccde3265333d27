"""Who may speak to the desk: its own pages in a browser that came by the right door, nobody else.

Another site that is open in the same browser can send requests to this address, and can give its
own name this address (DNS rebinding). So the Host must be the one that is served, whatever writes
must come from a page of this origin, and every request but the first carries a cookie that only
this program gives.
"""

from __future__ import annotations

import asyncio
import hashlib
import hmac
import secrets
from dataclasses import dataclass, field
from threading import Lock

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import PlainTextResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from credits.model.facts import EntryNumber

MOST_SESSIONS = 500
MOST_UNDONE = 50
LONGEST_WAIT = 20.0
FIRST_WAIT = 0.5

OWN_POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; connect-src 'self';"
    " img-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
SITE_POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self' 'unsafe-inline'; img-src 'self';"
    " form-action 'none'; base-uri 'none'; frame-ancestors 'none'"
)
"""The pages of the site set the speed of the rolling credits in a style attribute."""
PICTURE_POLICY = "default-src 'none'; style-src 'unsafe-inline'; sandbox"
"""A picture that is opened by itself runs nothing."""

_ON_EVERY_ANSWER = {
    "x-content-type-options": "nosniff",
    "x-frame-options": "DENY",
    "referrer-policy": "no-referrer",
    "cache-control": "no-store",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
}


@dataclass(frozen=True, slots=True)
class DeskAddress:
    """Where the desk is served. ``is_open``: to other machines, and so encrypted."""

    host: str
    port: int
    is_open: bool = False

    @property
    def netloc(self) -> str:
        """Return host and port as a browser writes them into Host, without an implied port."""
        host = f"[{self.host}]" if ":" in self.host else self.host.lower()
        return host if self.port == (443 if self.is_open else 80) else f"{host}:{self.port}"

    @property
    def origin(self) -> str:
        """Return the origin of the desk's pages."""
        return f"{'https' if self.is_open else 'http'}://{self.netloc}"


@dataclass(slots=True)
class DeskSession:
    """A browser that came in. ``done``: the lines that it wrote, what was written together as one,
    the last behind."""

    key: str
    done: list[tuple[EntryNumber, ...]] = field(default_factory=list)

    def wrote(self, numbers: tuple[EntryNumber, ...]) -> None:
        """Remember what was written, to be undone."""
        if numbers:
            self.done = [*self.done[-MOST_UNDONE + 1 :], numbers]


def _same(given: str, wanted: str) -> bool:
    """Compare two secrets in a time that says nothing about either."""
    digests = (hashlib.sha256(text.encode("utf-8", "replace")).digest() for text in (given, wanted))
    return hmac.compare_digest(*digests)


class Sessions:
    """The browsers that came in, by the cookie that each was given."""

    def __init__(self, address: DeskAddress) -> None:
        self.cookie = f"credits-desk-{address.port}"
        self._is_secure = address.is_open
        self._known: dict[bytes, DeskSession] = {}
        self._lock = Lock()

    def begin(self, response: Response) -> None:
        """Let a browser in: the answer carries its cookie."""
        key = secrets.token_urlsafe(32)
        with self._lock:
            while len(self._known) >= MOST_SESSIONS:
                del self._known[next(iter(self._known))]
            self._known[self._digest(key)] = DeskSession(key)
        response.set_cookie(
            self.cookie, key, httponly=True, samesite="strict", secure=self._is_secure, path="/"
        )

    def of(self, given: str | None) -> DeskSession | None:
        """Return the session of a cookie; None for a stranger's."""
        with self._lock:
            found = self._known.get(self._digest(given or ""))
        return found if found is not None and _same(found.key, given or "") else None

    @staticmethod
    def _digest(key: str) -> bytes:
        return hashlib.sha256(key.encode("utf-8", "replace")).digest()


class Door:
    """The secret that lets a browser in: the token of this run, or a password that people know.

    slows: whether each wrong word makes the next try wait longer; tries then wait for each other.
    A token is too long to be guessed, and other sites could make its owner wait.
    """

    def __init__(self, secret: str, *, slows: bool) -> None:
        self._secret = secret
        self._slows = slows
        self._wrong = 0
        self._one_at_a_time = asyncio.Lock()

    async def opens(self, given: str) -> bool:
        """Tell whether this is the secret."""
        async with self._one_at_a_time:
            if self._wrong and self._slows:
                await asyncio.sleep(min(FIRST_WAIT * 2 ** (self._wrong - 1), LONGEST_WAIT))
            is_right = _same(given, self._secret)
            self._wrong = 0 if is_right else self._wrong + 1
            return is_right


class Guard:
    """Stands before every route: Host, method, Origin; and the headers of every answer."""

    def __init__(self, app: ASGIApp, address: DeskAddress) -> None:
        self._app = app
        self._address = address

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer a request, or refuse it."""
        if scope["type"] != "http":
            return

        async def sealed(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in _ON_EVERY_ANSWER.items():
                    headers[name] = value
                headers.setdefault("content-security-policy", OWN_POLICY)
            await send(message)

        refused = self._refusal(scope["method"], Headers(scope=scope))
        await (refused or self._app)(scope, receive, sealed)

    def _refusal(self, method: str, headers: Headers) -> Response | None:
        hosts = headers.getlist("host")
        if hosts != [self._address.netloc]:
            return PlainTextResponse("This address is not served here.\n", 421)
        if method in ("GET", "HEAD"):
            return None
        if method != "POST":
            allowed = {"allow": "GET, HEAD, POST"}
            return PlainTextResponse("The desk is read and posted to.\n", 405, headers=allowed)
        from_here = headers.getlist("origin") == [self._address.origin]
        if not from_here or headers.get("sec-fetch-site", "same-origin") != "same-origin":
            return PlainTextResponse("Only pages of the desk itself may write.\n", 403)
        return None
