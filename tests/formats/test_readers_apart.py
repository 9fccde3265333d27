"""Photographs and timelines are read in a process of their own first, whatever becomes of it."""

from __future__ import annotations

from io import BytesIO
from pathlib import Path

import opentimelineio as otio
import pytest
from PIL import Image

from credits import apart
from credits.cli.main import run
from credits.editions import Edition
from credits.errors import CreditsError
from credits.formats import pictures
from credits.formats.cut import otio as otio_cuts
from credits.formats.drawings import UnreadablePictureError
from credits.formats.photographs import safe
from credits.formats.pictures import LARGEST, make_ready, picture_bytes
from credits.site.pictures import pictures_of
from credits.store.log import open_log
from tests.productions import production_from, written_tables
from tests.small_log import small_ledger

HARM = {
    b"killed": "the system, or somebody, stopped the reading",
    b"aborted": "it is damaged",
    b"no memory": "it takes more than 500 MB of memory to read",
    b"never ready": "it takes more than 10 seconds to read",
}


@pytest.fixture(autouse=True)
def nothing_kept(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(pictures, "_MADE", {})


def photograph(colour: str) -> bytes:
    out = BytesIO()
    Image.new("RGB", (40, 30), colour).save(out, "PNG")
    return out.getvalue()


def harmful(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(pictures, "READER", "harmful_photographs")
    monkeypatch.setattr(apart, "PATIENCE", 60)


@pytest.mark.parametrize("harm", HARM)
def test_a_photograph_that_ends_its_reading_is_no_picture(
    harm: bytes, monkeypatch: pytest.MonkeyPatch
) -> None:
    harmful(monkeypatch)
    if harm == b"never ready":
        monkeypatch.setattr(apart, "SECONDS", 1)
    with pytest.raises(UnreadablePictureError, match=HARM[harm]):
        picture_bytes(harm, ".png")


def test_one_bad_photograph_takes_none_of_the_others_with_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    harmful(monkeypatch)
    colours = ("red", "green", "blue")
    for name in colours:
        (tmp_path / f"{name}.png").write_bytes(photograph(name))
    (tmp_path / "bad.png").write_bytes(b"aborted")
    make_ready((path, ".png") for path in sorted(tmp_path.iterdir()))
    monkeypatch.setattr(pictures, "READER", "no reader at all")  # what was made is not made again
    for name in colours:
        own = photograph(name)
        assert picture_bytes(own, ".png") == safe(own, ".png", LARGEST)
    with pytest.raises(UnreadablePictureError, match="it is damaged"):
        picture_bytes(b"aborted", ".png")


def test_what_the_other_process_makes_is_what_is_made_here(tmp_path: Path) -> None:
    for number in range(20):  # more than are made in one process
        (tmp_path / f"{number}.png").write_bytes(photograph(f"#{number:02}0000"))
    make_ready((path, ".png") for path in tmp_path.iterdir())
    for path in tmp_path.iterdir():
        assert picture_bytes(path.read_bytes(), ".png") == safe(path.read_bytes(), ".png", LARGEST)


def test_a_cut_that_the_library_does_not_withstand_leaves_the_log_as_it_was(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]
) -> None:
    shots = {"sequences": "sequence\n010", "shots": "shot,sequence,frames\n010-020,010,48"}
    film = production_from(tmp_path / "film", [written_tables(tmp_path / "tables", shots)])
    cut = tmp_path / "cut.otio"
    otio.adapters.write_to_file(otio.schema.Timeline("cut"), str(cut))
    monkeypatch.setattr(otio_cuts, "READER", "harmful_photographs")
    monkeypatch.setattr(otio_cuts, "_text", lambda _: "aborted")
    assert run(["cut", str(cut), "--production", str(film)]) == 1
    said = capfd.readouterr()
    assert "is not withstood by OpenTimelineIO" in said.err
    assert "Ask the editors to save it again." in said.err
    with open_log(film) as log:
        assert log.read().cut is None


def test_a_site_says_which_picture_ended_its_reading(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    harmful(monkeypatch)
    (tmp_path / "wick.png").write_bytes(b"killed")
    with pytest.raises(CreditsError) as refused:
        pictures_of(tmp_path, small_ledger("[characters]\ncharacter\nwick"), Edition.PUBLIC)
    assert refused.value.findings[0].value == str(tmp_path / "wick.png")
