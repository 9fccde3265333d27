"""What stands around every page of paper: whose it is, for whom, of when, and which page.

The style sheet writes it into the margins, so that a site says it once, and a page of the site
does not change with the day. What a page is called it says itself.
"""

from __future__ import annotations

from markupsafe import Markup

from credits import files
from credits.site.html import css_string


def style_sheet(film: str, edition: str, data: str) -> bytes:
    """Return the style sheet, with the film, the edition and what the data is for its margins."""
    sheet = (files.shipped("site_templates") / "style.css").read_text("utf-8")
    margins = (
        f"@page {{ @top-left {{ content: var(--title, {css_string(film)}); }}"
        f" @top-right {{ content: {css_string(edition)}; }}"
        f" @bottom-left {{ content: {css_string(data)}; }} }}\n"
    )
    return (sheet + margins).encode("utf-8", "replace")


def titled(title: str) -> Markup:
    """Write the style by which a page tells its margins what it is called."""
    return Markup(f"--title:{css_string(title)}")  # nothing is left to be escaped
