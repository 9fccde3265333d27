"""Pictures of the example's pages: ``python .ci/screenshots.py FOLDER``.

Builds the example production and its sites beside the pictures' folder for as long as it takes, and
photographs one page of each kind: at a desk and on a phone, light and dark. Then the page on which
the day is logged, a day sheet as LibreOffice prints it, and a page of the proof of the credits.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path
from urllib.parse import urljoin

from PIL import Image
from playwright.sync_api import sync_playwright

NAMES = (
    "chromium-headless-shell",
    "chromium",
    "chromium-browser",
    "google-chrome",
    "google-chrome-stable",
)
ROOMS = {"desk": {"width": 1280, "height": 900}, "phone": {"width": 390, "height": 844}}
PAGES = {
    "public": ("index", "characters/index", "characters/tibb", "credits"),
    "crew": ("characters/tibb", "puppets/tibb-1", "shots/index", "shots/050-070", "people/index",
             "people/mireille", "crafts/index", "weeks/index"),
    "office": ("index", "film", "credits", "reasons", "footage", "reviews/mireille", "checks",
               "counted"),
}  # fmt: skip


README_PICTURES = {
    "character": "crew-characters-tibb-desk-light",
    "shot": "crew-shots-050-070-desk-light",
    "person": "crew-people-mireille-desk-light",
    "credits": "office-credits-desk-light",
    "film": "office-film-desk-light",
    "proof": "proof",
    "review": "office-reviews-mireille-desk-light",
    "desk": "the-desk-1280",
    "day-sheet": "day-sheet",
}
A_DAY = "2026-03-12"
README_HEIGHT = 1000


def chromium() -> str:
    """The path of a Chromium of this machine."""
    for name in (os.environ.get("CREDITS_CHROMIUM"), *NAMES):
        if name and (path := shutil.which(name)):
            return path
    sys.exit("No Chromium here. `make browser` brings one; CREDITS_CHROMIUM names one.")


def photograph(sites: Path, folder: Path) -> int:
    """Photograph the pages; how many pictures there are."""
    count = 0
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium(), args=["--no-sandbox"])
        for room, size in ROOMS.items():
            for ground in ("light", "dark"):
                context = browser.new_context(viewport=size, color_scheme=ground, offline=True)
                page = context.new_page()
                for edition, paths in PAGES.items():
                    for path in paths:
                        page.goto((sites / edition / f"{path}.html").as_uri())
                        name = f"{edition}-{path.replace('/', '-')}-{room}-{ground}.png"
                        page.screenshot(path=folder / name, full_page=room == "desk")
                        count += 1
                context.close()
        browser.close()
    return count


def photograph_desk(demo: Path, folder: Path) -> int:
    """Photograph the page on which the day is logged, at a desk and on a tablet."""
    words = ["desk", "--no-browser", "--no-site", "--production", str(demo)]
    with subprocess.Popen(
        [sys.executable, "-m", "credits", *words], stdout=subprocess.PIPE, text=True
    ) as served:
        assert served.stdout is not None
        address = served.stdout.readline().split()[-1]
        with sync_playwright() as playwright:
            browser = playwright.chromium.launch(executable_path=chromium(), args=["--no-sandbox"])
            for width, height in ((1280, 1000), (768, 1024)):
                page = browser.new_page(viewport={"width": width, "height": height})
                page.goto(address)
                page.goto(urljoin(address, f"/day/{A_DAY}"), wait_until="networkidle")
                page.screenshot(path=folder / f"the-desk-{width}.png")
            browser.close()
        served.terminate()
    return 2


def photograph_day_sheet(demo: Path, folder: Path) -> int:
    """Make a day sheet, and a picture of it as it is printed (by LibreOffice and pdftoppm)."""
    book = folder / "day-sheet.xlsx"
    words = ["sheet", "--stage", "S3", "--date", A_DAY, "--out", str(book), "--force"]
    made = [sys.executable, "-m", "credits", *words, "--production", str(demo)]
    subprocess.run(made, check=True, stdout=subprocess.DEVNULL)
    office = os.environ.get("CREDITS_OFFICE") or shutil.which("soffice") or "libreoffice"
    printed = [office, "--headless", "--convert-to", "pdf", "--outdir", str(folder), str(book)]
    subprocess.run(printed, check=True, stdout=subprocess.DEVNULL)
    page, picture = book.with_suffix(".pdf"), book.with_suffix("")
    drawn = ["pdftoppm", "-singlefile", "-r", "105", "-png", str(page), str(picture)]
    subprocess.run(drawn, check=True)
    book.unlink()
    page.unlink()
    return 1


def photograph_proof(demo: Path, folder: Path) -> int:
    """Make the proof of the end credits, and a picture of its second page."""
    proof = folder / "proof.pdf"
    words = ["export", "pdf", "--out", str(proof), "--production", str(demo)]
    made = [sys.executable, "-m", "credits", *words]
    subprocess.run(made, check=True, stdout=subprocess.DEVNULL)
    picture = str(proof.with_suffix(""))
    of_page = ("-singlefile", "-f", "2", "-l", "2", "-r", "105", "-png")
    subprocess.run(["pdftoppm", *of_page, str(proof), picture], check=True)
    proof.unlink()
    return 1


def for_the_readme(folder: Path) -> None:
    """The first screen of the pages that the README shows, small enough to keep."""
    kept = Path(__file__).resolve().parent.parent / "examples" / "screenshots"
    kept.mkdir(exist_ok=True)
    for name, page in README_PICTURES.items():
        with Image.open(folder / f"{page}.png") as picture:
            first = picture.convert("RGB").crop((0, 0, picture.width, README_HEIGHT))
            first.quantize(64).save(kept / f"{name}.png", optimize=True)


def main(arguments: list[str]) -> int:
    """Make the example, photograph it; 2 when no folder was named."""
    if len(arguments) != 1 or arguments[0].startswith("-"):
        sys.stderr.write(f"{__doc__}\n")
        return 2
    folder = Path(arguments[0])
    folder.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as place:
        demo = Path(place) / "demo"
        made = [sys.executable, "-m", "credits", "demo", str(demo)]
        subprocess.run(made, check=True, stdout=subprocess.DEVNULL)
        count = photograph((demo / "site").resolve(), folder)
        count += photograph_desk(demo, folder) + photograph_day_sheet(demo, folder)
        count += photograph_proof(demo, folder)
    for_the_readme(folder)
    print(f"{count} pictures in {folder}")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
