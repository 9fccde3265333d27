"""What tests of whole sites share: the example production and its sites, made once a run."""

from __future__ import annotations

import os
import shutil
import time
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from hypothesis import settings

from credits import files
from credits.app.site import build_sites
from credits.editions import Edition
from tests.drawn import FULL, drawn
from tests.postgres_server import PostgresServer
from tests.productions import production_from

if TYPE_CHECKING:
    from playwright.sync_api import Browser

EXAMPLE = "the-tardy-echo"
LONGEST_MAKING = 300  # seconds
LONGEST_WAIT = 60_000  # milliseconds; on a busy machine a page may take its time
CHROMIUMS = (
    "chromium-headless-shell",
    "chromium",
    "chromium-browser",
    "google-chrome",
    "google-chrome-stable",
)
SWITCHES = ["--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage"]


LONGEST = ("test_accessible", "test_package", "test_site_in_browser", "test_desk_in_browser")


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """The longest tests come first: else one process has one to do when the other is at its end."""
    items.sort(key=lambda item: item.path.stem not in LONGEST)


def made_once(folder: Path, make: Callable[[Path], None]) -> Path:
    """The folder, made by whichever process of this test run comes first; the others wait."""
    done, failed = (folder.with_name(f"{folder.name}.{end}") for end in ("done", "failed"))
    try:
        folder.with_name(f"{folder.name}.begun").mkdir()
    except FileExistsError:
        until = time.monotonic() + LONGEST_MAKING
        while not done.exists():
            if failed.exists():
                pytest.fail(f"{folder.name} could not be made: {failed.read_text('utf-8')}")
            if time.monotonic() > until:
                pytest.fail(f"{folder.name} was begun and never finished")
            time.sleep(0.05)
        return folder
    try:
        make(folder)
    except BaseException as error:
        failed.write_text(repr(error), "utf-8")
        raise
    done.touch()
    return folder


# Machines are noisy: how long one example takes says nothing about what is tested. The same code is
# tried with the same examples, so that what passes here passes elsewhere; new ones are looked for
# with ``LAWS=full``.
settings.register_profile("credits", deadline=None, max_examples=drawn(100), derandomize=not FULL)
settings.load_profile("credits")


@pytest.fixture(scope="session")
def postgres() -> Iterator[PostgresServer]:
    """A PostgreSQL server of this test run's own."""
    server = PostgresServer()
    yield server
    server.stop()


@pytest.fixture
def on_server(postgres: PostgresServer) -> Iterator[PostgresServer]:
    """A PostgreSQL server, for a test that makes logs there."""
    yield postgres
    postgres.take_back()


@pytest.fixture(scope="session")
def shared_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder that all workers of this test run share."""
    own = tmp_path_factory.getbasetemp()
    return own.parent if "PYTEST_XDIST_WORKER" in os.environ else own


@pytest.fixture(scope="session")
def example_tables() -> Path:
    """The folder of the example production's tables, as it comes with the product."""
    return files.shipped("examples") / EXAMPLE


@pytest.fixture(scope="session")
def example_production(shared_folder: Path, example_tables: Path) -> Path:
    """The example production, loaded. Tests read it; who writes makes a copy."""

    def make(folder: Path) -> None:
        production_from(
            folder,
            [example_tables, *sorted((example_tables / "entries").glob("*.csv"))],
            title="The Tardy Echo",
            face_sheets={"050-070": example_tables / "face-sheet-050-070.csv"},
            cut=example_tables / "cut.csv",
        )
        shutil.copytree(example_tables / "pictures", folder / "pictures")
        shutil.copy(example_tables / "credit-plan.toml", folder)

    return made_once(shared_folder / "example", make)


@pytest.fixture(scope="session")
def example_sites(shared_folder: Path, example_production: Path) -> Mapping[Edition, Path]:
    """The example's sites, by edition. Tests read them."""

    def make(folder: Path) -> None:
        build_sites(example_production, tuple(Edition), folder)

    folder = made_once(shared_folder / "example-sites", make)
    return {edition: folder / edition.value for edition in Edition}


def chromium() -> str:
    """The path of a Chromium; the test fails when the machine has none."""
    wanted = (os.environ.get("CREDITS_CHROMIUM"), *CHROMIUMS)
    for name in wanted:
        if name and (path := shutil.which(name)):
            return path
    pytest.fail("No Chromium here. `make test` brings one; CREDITS_CHROMIUM names one.")


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """One Chromium for the whole run."""
    from playwright.sync_api import expect, sync_playwright

    expect.set_options(timeout=LONGEST_WAIT)
    with sync_playwright() as playwright:
        yield playwright.chromium.launch(executable_path=chromium(), args=SWITCHES)
