"""Pen and paper: lines in a mid-tone ink that reads on a light and on a dark page."""

from __future__ import annotations

from math import cos, pi, sin
from xml.sax.saxutils import escape

INK = "#7b756c"
BRASS = "#b5712f"
THIN = 1.8


def line(d: str, width: float = 3.2, colour: str = INK) -> str:
    """A stroke along an SVG path."""
    return f'<path d="{d}" stroke="{colour}" stroke-width="{width}"/>'


def thin(d: str) -> str:
    """A fine stroke: whiskers, seams, wool."""
    return line(d, THIN)


def brass(d: str, width: float = 3.6) -> str:
    """A stroke in the one warm colour: the thing each character is about."""
    return line(d, width, BRASS)


def dot(x: float, y: float, r: float = 3.0, colour: str = INK) -> str:
    """A filled dot: eyes, buttons."""
    return f'<circle cx="{x:g}" cy="{y:g}" r="{r:g}" fill="{colour}" stroke="none"/>'


def ring(x: float, y: float, r: float, width: float = 3.2, colour: str = INK) -> str:
    """A circle of line."""
    return f'<circle cx="{x:g}" cy="{y:g}" r="{r:g}" stroke="{colour}" stroke-width="{width}"/>'


def cloud(x: float, y: float, rx: float, ry: float, bumps: int, start: float = 0.0) -> str:
    """Wool: an ellipse of outward bumps."""
    turns = [start + 2 * pi * n / bumps for n in range(bumps + 1)]
    points = [(x + rx * cos(a), y + ry * sin(a)) for a in turns]
    r = 1.25 * pi * (rx + ry) / 2 / bumps
    d = f"M{points[0][0]:.1f} {points[0][1]:.1f}"
    for px, py in points[1:]:
        d += f"A{r:.1f} {r:.1f} 0 0 1 {px:.1f} {py:.1f}"
    return line(d + "Z", 2.8)


def spiral(x: float, y: float, r: float, turns: float) -> str:
    """A spiral from the outside in."""
    steps = int(turns * 24)
    d = ""
    for n in range(steps + 1):
        a = -2 * pi * n / 24
        rr = r * (1 - n / (steps + 3)) ** 0.85
        d += f"{'L' if d else 'M'}{x + rr * cos(a):.1f} {y + rr * sin(a):.1f}"
    return line(d, 3)


def ground(first: int = 40, last: int = 160) -> str:
    """The floor of the set, a little uneven."""
    middle = (first + last) // 2
    return thin(f"M{first} 224Q{middle} 220 {last} 225")


def page(title: str, drawing: str, box: str = "0 0 200 240") -> str:
    """A whole SVG file with a transparent ground and a title."""
    width, height = box.split()[2:]
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{box}" width="{width}" '
        f'height="{height}" role="img">\n<title>{escape(title)}</title>\n'
        f'<g fill="none" stroke-linecap="round" stroke-linejoin="round">\n{drawing}\n</g>\n</svg>\n'
    )
