"""Pictures of the production, prepared for an edition."""

from __future__ import annotations

from pathlib import Path

from credits.billing.credits import Credits
from credits.editions import Edition
from credits.errors import CreditsError, Finding
from credits.formats.drawings import UnreadablePictureError
from credits.formats.pictures import ENDINGS, make_ready, read_picture
from credits.model.ledger import Ledger
from credits.site.links import file_name
from credits.text import fold_code


def pictures_of(
    folder: Path, ledger: Ledger, edition: Edition
) -> tuple[dict[str, str], dict[str, bytes]]:
    """Tell which picture belongs to which code, and the bytes of each picture, by name in the site.

    A picture is called after the code of a character, a puppet or (crew and office) a shot,
    without regard to case, composed or decomposed. Other files are left alone. No folder: none.
    Raises CreditsError for a picture that cannot be read.
    """
    if not folder.is_dir():
        return {}, {}
    codes = {fold_code(code): code for code in (*ledger.characters, *ledger.puppets)}
    if edition.sees(Edition.CREW):
        codes = {**{fold_code(code): code for code in ledger.shots}, **codes}
    files: dict[str, tuple[Path, str]] = {}
    for path in sorted(folder.iterdir()):
        ending = ENDINGS.get(path.suffix.lower())
        code = codes.get(fold_code(path.stem))
        if ending is not None and code is not None:
            files.setdefault(code, (path, ending))
    make_ready(files.values())
    names = {code: f"{file_name(code)}{ending}" for code, (_, ending) in files.items()}
    return names, {names[code]: _read(*file) for code, file in files.items()}


def logos_of(folder: Path, credits: Credits) -> tuple[dict[str, str], dict[str, bytes]]:
    """Tell how the pictures that the credits set are called in the site, and the bytes of each.

    They are known by the names that the plan gives them. One that is not in the folder is left
    out: whatever shows it has words for it. Raises CreditsError for one that cannot be read.
    """
    names: dict[str, str] = {}
    contents: dict[str, bytes] = {}
    for file in dict.fromkeys(own.file for each in credits.sections for own in each.pictures):
        path = folder / file
        ending = ENDINGS.get(path.suffix.lower())
        if ending is not None and Path(file).name == file and path.is_file():
            name = f"credits/{file_name(path.stem)}{ending}"
            if name in contents:  # MILL.jpeg beside mill.jpg
                name = f"credits/{file_name(f'{path.name}/')}{ending}"
            names[file], contents[name] = name, _read(path, ending)
    return names, contents


def _read(path: Path, ending: str) -> bytes:
    try:
        return read_picture(path, ending)
    except UnreadablePictureError as error:
        what = f"is no picture of its kind ({error})"
        hint = "Save it again as PNG, JPEG or SVG, or take it away."
        raise CreditsError(Finding(what, hint, value=str(path))) from error
    except OSError as error:
        what = f"the picture cannot be read ({error.strerror or error})"
        hint = "Let it be read, or take it away."
        raise CreditsError(Finding(what, hint, value=str(path))) from error
