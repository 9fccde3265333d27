"""The pictures of a production folder that an edition may show."""

from __future__ import annotations

from pathlib import Path

from credits.editions import Edition
from credits.errors import CreditsError, Finding
from credits.model.ledger import Ledger
from credits.pages.links import file_name
from credits.site.picture_bytes import UnreadablePicture, picture_bytes

ENDINGS = {".svg": ".svg", ".png": ".png", ".jpg": ".jpg", ".jpeg": ".jpg"}


def _prepared(path: Path, content: bytes, ending: str) -> bytes:
    try:
        return picture_bytes(content, ending)
    except UnreadablePicture as error:
        what = f"is no picture of its kind ({error})"
        hint = "Save it again as PNG, JPEG or SVG, or take it away."
        raise CreditsError(Finding(what, hint, value=str(path))) from error


def pictures_of(
    folder: Path, ledger: Ledger, edition: Edition
) -> tuple[dict[str, str], dict[str, bytes]]:
    """Which picture belongs to which code, and the bytes of each picture, by name in the site.

    A picture is called after the code of a character, a puppet or (crew and office) a shot,
    without regard to case. Other files in the folder are left alone. No folder: no pictures.
    Raises CreditsError for a picture that cannot be read.
    """
    if not folder.is_dir():
        return {}, {}
    codes = {code.casefold(): code for code in (*ledger.characters, *ledger.puppets)}
    if edition.sees(Edition.CREW):
        codes = {**{code.casefold(): code for code in ledger.shots}, **codes}
    names: dict[str, str] = {}
    contents: dict[str, bytes] = {}
    for path in sorted(folder.iterdir()):
        ending = ENDINGS.get(path.suffix.lower())
        code = codes.get(path.stem.casefold())
        if ending is None or code is None or code in names:
            continue
        try:
            content = path.read_bytes()
        except OSError as error:
            what = f"the picture cannot be read ({error.strerror or error})"
            raise CreditsError(
                Finding(what, "Let it be read, or take it away.", value=str(path))
            ) from error
        names[code] = f"{file_name(code)}{ending}"
        contents[names[code]] = _prepared(path, content, ending)
    return names, contents
