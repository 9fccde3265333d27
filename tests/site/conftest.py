"""A browser that opens pages from disk, offline, and remembers everything that goes wrong."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import ExitStack
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, Request

from credits.editions import Edition
from tests.conftest import LONGEST_WAIT
from tests.drawn import FULL

DESK = {"width": 1280, "height": 900}
PHONE = {"width": 360, "height": 740}
LOOKED_AT = tuple(Edition) if FULL else (Edition.OFFICE,)
"""Editions whose every kind of page is opened: the office has every kind, with the most on it."""
OWN = ("file:", "blob:")  # files, and what a page has made itself


@dataclass
class Visit:
    """A reader's window, and what it complained about."""

    page: Page
    site: Path
    complaints: list[str] = field(default_factory=list)

    def go(self, path: str) -> Page:
        """Open a page of the site from disk."""
        self.page.goto((self.site / path).as_uri(), wait_until="load")
        return self.page

    @property
    def here(self) -> str:
        """Where the reader is, from the root of the site."""
        return self.page.url.partition("#")[0].removeprefix(self.site.as_uri() + "/")


Visitor = Callable[..., Visit]


def _failure(request: Request) -> str:
    """Why a request failed; nothing where the reader left the page before it was answered."""
    left = request.failure is not None and "ERR_ABORTED" in request.failure
    return "" if left else f"{request.failure}: {request.url}"


@pytest.fixture
def visit(browser: Browser) -> Iterator[Visitor]:
    """Open windows on sites. When the test ends none of them may have complained.

    A complaint is an error on the console, an exception, a dialog, a request that failed or that
    asked for anything but a file.
    """
    with ExitStack() as windows:
        visits: list[Visit] = []

        def opened(site: Path, **options: Any) -> Visit:
            context = browser.new_context(**{"viewport": DESK, "offline": True, **options})
            windows.callback(context.close)
            context.set_default_timeout(LONGEST_WAIT)
            page = context.new_page()
            one = Visit(page, site.resolve())
            say = one.complaints.append

            def failed(request: Request, say: Callable[[str], None] = say) -> None:
                if reason := _failure(request):
                    say(reason)

            page.on("console", lambda m: say(m.text) if m.type in ("error", "warning") else None)
            page.on("pageerror", lambda error: say(str(error)))
            page.on("requestfailed", failed)
            page.on("request", lambda r: None if r.url.startswith(OWN) else say(r.url))
            page.on("dialog", lambda d: (say(f"dialog: {d.message}"), d.dismiss()))
            visits.append(one)
            return one

        yield opened
        assert [complaint for one in visits for complaint in one.complaints] == []
