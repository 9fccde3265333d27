"""Several sites, one log: commands answer on a server as they answer on a file."""

from __future__ import annotations

import shutil
import threading
from pathlib import Path

import pytest

from credits.app.kept import KeptLog
from credits.app.site import watched_state
from credits.cli import site
from credits.store.engines.address import address_in
from tests.cli.conftest import CUT, WORKED_EXAMPLE, Command
from tests.postgres_server import PostgresServer
from tests.productions import written_tables

pytestmark = pytest.mark.postgres

WRITE = (
    "load tables",
    "cut cut.csv --json",
    "log paint ben wick-1 --on 2026-01-10 --json",
    "log paint cai wick-2 --on 2026-01-11",
    "amend A-1 --minutes 77 --json",
    "void A-2 --why mistaken",
    "log nonsense ben wick-1",
    "load tables",
    "same ana cai",
    "correct people ben --void --why x",
    "roll --save --json",
    "answer uncorrected-claim ana --why so",
)
ASK = (
    "footage --json",
    "footage --by shot,person --json",
    "check --json",
    "reach --json",
    "hands 010-020 --json",
    "roll --json",
    "roll --against 1 --json",
    "why ben --json",
    "find wick --json",
    "day 2026-03-03 --json",
    "review ben --json",
    "export prov --output -",
    "verify --json",
)


@pytest.fixture
def far(tmp_path: Path, on_server: PostgresServer) -> Path:
    """An empty production on a server, with the tables of the worked example beside it."""
    written_tables(tmp_path / "tables", WORKED_EXAMPLE)
    (tmp_path / "cut.csv").write_text(CUT)
    return on_server.new_log(tmp_path / "far")


def test_every_command_answers_as_on_a_file(
    credits_: Command, far: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    near = tmp_path / "near"
    assert credits_("start", "The Lamplighter", near).status == 0
    shutil.rmtree(near / "tables", ignore_errors=True)
    answers = []
    for folder in (near, far):
        for name in ("tables", "cut.csv"):
            (folder / name).symlink_to(tmp_path / name)
        monkeypatch.chdir(folder)
        said = []
        for words in (*WRITE, *ASK):
            answer = credits_(*words.split())
            said.append((words, answer.status, answer.out, answer.err))
        answers.append(said)
    for on_file, on_server in zip(*answers, strict=True):
        assert on_server == on_file
    assert not (far / "production.db").exists()


def test_a_production_is_started_on_a_server_by_its_owner(
    credits_: Command, postgres: PostgresServer, tmp_path: Path
) -> None:
    address = postgres.new_database()
    made = credits_("start", "The Small Film", tmp_path / "film", "--log", address.text)
    assert made.status == 0
    assert address_in(tmp_path / "film") == address
    refused = credits_("start", "Other", tmp_path / "other", "--log", "postgresql://a:b@db/film")
    assert refused.status == 1
    assert "--log: holds a password" in refused.err
    assert not (tmp_path / "other").exists()


def test_a_log_is_carried_to_a_server_by_one_command(
    credits_: Command, film: Path, postgres: PostgresServer
) -> None:
    address = postgres.new_database()
    done = credits_("copy", film, address.text)
    assert done.status == 0
    assert done.out.startswith("Copied the log to postgresql:///film_")
    assert done.out.endswith(": 7 lines, every figure compared.\n")
    assert f'log = "{address.text}"' in done.err
    assert credits_("copy", film, address.text).status == 2
    again = credits_("copy", film, film.parent / "new", "--json")
    assert again.json["lines"] == 7


def test_nothing_is_written_over_a_log_on_a_server(
    credits_: Command, far: Path, tmp_path: Path
) -> None:
    copy = tmp_path / "copy.db"
    assert credits_("backup", copy, "-p", far).status == 0
    refused = credits_("restore", copy, "-p", far)
    assert refused.status == 2
    assert "credits copy FOLDER ADDRESS" in refused.err


class _Enough(Exception):
    """Ends what goes on for ever."""


def test_who_watches_builds_again_when_another_site_has_written(
    credits_: Command, far: Path, tmp_path: Path
) -> None:
    other = tmp_path / "other"
    other.mkdir()
    shutil.copy(far / "production.toml", other)
    built: list[int] = []

    def write() -> None:
        assert credits_("load", tmp_path / "tables", "-p", other).status == 0

    writer = threading.Timer(0.2, write)

    def build() -> None:
        built.append(1)
        if len(built) == 1:  # what was written before somebody listened is looked for
            writer.start()
        else:
            raise _Enough

    with pytest.raises(_Enough):
        site.build_at_changes(far, watched_state(far), build)
    writer.join()
    assert built == [1, 1]


def test_the_desk_reads_the_log_again_only_when_somebody_has_written(
    credits_: Command, far: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    kept = KeptLog(far)
    first = kept.now()
    with monkeypatch.context() as patched:
        patched.setattr("credits.app.kept.open_log", None)  # whoever opens it fails
        assert kept.now() is first
    assert credits_("load", tmp_path / "tables", "-p", far).status == 0
    assert len(kept.now().written.people) == 3
    text = (far / "production.toml").read_text("utf-8")
    (far / "production.toml").write_text(text.replace("The Lamplighter", "The Moth"), "utf-8")
    assert kept.now().written.production.title == "The Moth"


def test_what_another_unit_has_logged_is_taken_in(
    credits_: Command, film: Path, postgres: PostgresServer, tmp_path: Path
) -> None:
    """The other unit has a copy of the log as it was, and went on with it by itself."""
    other = Path(shutil.copytree(film, tmp_path / "other"))
    far = tmp_path / "far"
    far.mkdir()
    address = postgres.new_database()
    assert credits_("copy", film, address.text).status == 0
    text = (film / "production.toml").read_text("utf-8")
    (far / "production.toml").write_text(f'log = "{address.text}"\n{text}', "utf-8")
    for words in (
        "log paint ben wick-1 --on 2026-01-10",
        "correct people cai credit_name=Caio --why so",
    ):
        assert credits_(*words.split(), "-p", other).status == 0
    answers = [credits_("merge", other, "--json", "-p", folder) for folder in (film, far)]
    assert answers[0].status == 0
    assert answers[0].out == answers[1].out
    asked = [credits_("find", "cai", "--json", "-p", folder).out for folder in (film, far)]
    assert asked[0] == asked[1]
    assert "Caio" in asked[0]
    assert credits_("verify", "-p", far).status == 0
    refused = credits_("merge", far, "-p", film)
    assert refused.status == 2
    assert "has its log on a server" in refused.err
