"""Reading the data of the film page, as its script does."""

from __future__ import annotations


def places_of(written: list[int]) -> list[int]:
    """The places that are written: of those in a row the first, and the last with a minus."""
    found: list[int] = []
    for place in written:
        found += [place] if place >= 0 else range(found[-1] + 1, 1 - place)
    return found
