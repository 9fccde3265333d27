"""The twelve characters as drawings.txt draws them, stroke by stroke."""

from __future__ import annotations

from pathlib import Path

from .ink import brass, cloud, dot, ground, line, ring, spiral, thin


def _numbers(text: str) -> list[float]:
    return [float(word) for word in text.split()]


def _stroke(text: str) -> str:
    """One line of a drawing: a pen, its width when it has one, and where it goes."""
    pen, _, rest = text.partition(" ")
    if pen in ("line", "brass"):
        width, _, path = rest.partition(" ")
        return (line if pen == "line" else brass)(path, float(width))
    if pen == "thin":
        return thin(rest)
    n = _numbers(rest)
    if pen == "dot":
        return dot(n[0], n[1], n[2])
    if pen == "ring":
        return ring(n[0], n[1], n[2], n[3])
    if pen == "cloud":
        return cloud(n[0], n[1], n[2], n[3], int(n[4]), n[5])
    if pen == "spiral":
        return spiral(n[0], n[1], n[2], n[3])
    if pen == "ground":
        return ground(int(n[0]), int(n[1]))
    raise ValueError(f"drawings.txt: there is no pen '{pen}'")


def _drawn() -> dict[str, str]:
    text = (Path(__file__).parent / "drawings.txt").read_text(encoding="utf-8")
    drawings: dict[str, str] = {}
    for block in text.strip().split("\n\n"):
        title, *strokes = block.splitlines()
        drawings[title[2:].partition(":")[0]] = "\n".join(_stroke(stroke) for stroke in strokes)
    return drawings


DRAWN: dict[str, str] = _drawn()
"""The inside of each character's picture, 200 wide and 240 high, standing at 100, 223."""
