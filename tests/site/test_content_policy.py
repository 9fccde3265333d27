"""No page runs or fetches anything but what came with the site."""

from __future__ import annotations

import base64
import hashlib
import re
from collections.abc import Mapping
from pathlib import Path

import pytest
from playwright.sync_api import Browser

from credits.editions import Edition

POLICY = re.compile(r'<meta http-equiv="Content-Security-Policy" content="([^"]*)">')


def policy_of(html: str) -> dict[str, set[str]]:
    """What a page allows, by directive; the policy stands before anything that it could forbid."""
    found = POLICY.search(html)
    assert found is not None
    assert not re.search(r"<(script|link|style|img)\b", html[: found.start()])
    rules = (rule.split() for rule in found[1].split(";"))
    return {name: set(allowed) for name, *allowed in rules}


@pytest.mark.parametrize("edition", Edition)
def test_every_page_of_every_edition_has_the_policy(
    example_sites: Mapping[Edition, Path], edition: Edition
) -> None:
    for path in example_sites[edition].rglob("*.html"):
        html = path.read_text(encoding="utf-8")
        allowed = policy_of(html)
        assert allowed.pop("script-src") - {"'self'", "file:"} == {
            f"'sha256-{base64.b64encode(hashlib.sha256(own.encode()).digest()).decode()}'"
            for own in re.findall(r"<script>(.*?)</script>", html, re.DOTALL)
        }
        assert allowed == {
            "default-src": {"'none'"},
            "style-src": {"'self'", "file:", "'unsafe-inline'"},
            "img-src": {"'self'", "file:"},
            "base-uri": {"'none'"},
            "form-action": {"'none'"},
        }


@pytest.mark.browser
def test_what_is_put_into_a_page_does_not_run(
    example_sites: Mapping[Edition, Path], browser: Browser, tmp_path: Path
) -> None:
    """As if a name had got through: a script, a handler, a frame and a picture from elsewhere."""
    html = (example_sites[Edition.PUBLIC] / "index.html").read_text(encoding="utf-8")
    bad = (
        '<script>document.title = "ran"</script><img src="x" onerror="document.title = \'ran\'">'
        "<iframe src=\"javascript:parent.document.title = 'ran'\"></iframe>"
        '<img id="far" src="https://pictures.invalid/1.png">'
    )
    page_file = tmp_path / "index.html"
    page_file.write_text(html.replace("</main>", bad + "</main>"), encoding="utf-8")
    page = browser.new_page()
    stopped: dict[str, str | None] = {}
    page.on("requestfailed", lambda request: stopped.update({request.url: request.failure}))
    said: list[str] = []
    page.on("console", lambda message: said.append(message.text))
    page.goto(page_file.as_uri())
    page.wait_for_load_state()
    assert page.title() == "The Tardy Echo"
    assert stopped.get("https://pictures.invalid/1.png") == "csp"
    assert sum("Content Security Policy" in text for text in said) >= 4
    page.close()
