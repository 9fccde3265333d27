"""Look at every library that the product installs: licence, last release, known weaknesses.

Run by ``make audit``. The weaknesses are those that the package index tells of a version. Ends with
status 1 where one is known, or where a licence is not among those that go with ours.
"""

from __future__ import annotations

import json
import sys
from concurrent.futures import ThreadPoolExecutor
from http import HTTPStatus
from importlib import metadata
from typing import Any
from urllib.error import HTTPError
from urllib.request import urlopen

from packaging.requirements import Requirement
from packaging.utils import canonicalize_name
from pip._internal.models.index import PyPI

PRODUCT = "performance-credits"
EXTRAS = ("", "postgres")
FITTING = ("MIT", "BSD", "Apache", "ISC", "PSF", "LGPL", "Lesser General Public License")


def installed(product: str = PRODUCT) -> dict[str, metadata.Distribution]:
    """Return what the product needs, and what that needs, by name."""
    found: dict[str, metadata.Distribution] = {}
    ahead = [(product, EXTRAS)]
    while ahead:
        name, extras = ahead.pop()
        for text in metadata.requires(name) or ():
            needed = Requirement(text)
            key = canonicalize_name(needed.name)
            wanted = needed.marker is None or any(
                needed.marker.evaluate({"extra": extra}) for extra in extras
            )
            if wanted and key not in found:
                found[key] = metadata.distribution(needed.name)
                ahead.append((needed.name, ("", *needed.extras)))
    return found


def licence(own: metadata.Distribution) -> str:
    """Return the licence that a library says it has."""
    said = own.metadata
    of_class = [text for text in said.get_all("Classifier") or () if text.startswith("License")]
    names = (said.get("License-Expression"), *(t.split("::")[-1].strip() for t in of_class))
    return next(filter(None, (*names, said.get("License"))), "").splitlines()[0]


def fits(text: str) -> bool:
    """Tell whether a licence goes with ours."""
    return any(name in text for name in FITTING)


def _asked(path: str) -> dict[str, Any]:
    with urlopen(f"{PyPI.pypi_url}/{path}/json", timeout=60) as answer:
        told: dict[str, Any] = json.load(answer)
    return told


def _told(name: str, version: str) -> tuple[str, list[str] | None]:
    """Return the day of a version, and its weaknesses, as the index tells them; None: it does not.

    An index that knows no single versions tells those of the newest: of another nothing is known.
    """
    try:
        told = _asked(f"{name}/{version}")
    except HTTPError as error:
        if error.code != HTTPStatus.NOT_FOUND:
            raise
        told = _asked(name)
        if told["info"]["version"] != version:
            return "not told", None
    days = [file["upload_time"][:10] for file in told["urls"]]
    known = [own["id"] for own in told["vulnerabilities"] if not own.get("withdrawn")]
    return max(days, default="unknown"), known


def main() -> int:
    """Print the table; the exit status says whether anything is wrong."""
    found = sorted(installed().items())
    with ThreadPoolExecutor(8) as threads:
        every = list(threads.map(lambda own: _told(own[0], own[1].version), found))
    wrong = untold = 0
    for (name, own), (day, known) in zip(found, every, strict=True):
        said = licence(own)
        bad = [*(known or ()), *([] if fits(said) else [f"licence: {said or 'none said'}"])]
        wrong += bool(bad)
        untold += known is None
        print(f"{name:20} {own.version:12} {day:10}  {said:28} {', '.join(bad)}".rstrip())
    print(f"{len(found)} libraries, {wrong} to look at; of {untold} the index tells no weaknesses,")
    print("since it tells those of the newest version alone")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
