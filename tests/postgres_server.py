"""A PostgreSQL server of the tests' own: a private cluster that listens on a socket alone.

It is started when a test first asks for it, ends with the process that started it, and leaves
nothing behind. What lies on its disk is safe against its own end (a killed server), not against
that of the machine: nothing here looks at that.
"""

from __future__ import annotations

import os
import pwd
import shutil
import signal
import subprocess
import tempfile
import time
from collections.abc import Sequence
from itertools import count
from pathlib import Path

import psycopg
from psycopg.conninfo import conninfo_to_dict

from credits.store.engines.address import Address, address_in
from credits.store.engines.postgres import ROLE, let_go
from credits.store.production import create_production
from credits.store.schema.records import RECORDS

INSTALLED = "/usr/lib/postgresql/*/bin/postgres"
LONGEST_START = 60  # seconds
OWNER = "postgres"
"""Who the server runs as where root runs the tests, and the name of its first role."""
WRITER = "ana"
"""Who logs: a role that may insert and read, and owns nothing."""
SETTINGS = {
    "listen_addresses": "",
    "fsync": "off",
    "full_page_writes": "off",
    "max_connections": "60",
    "shared_buffers": "32MB",
    "autovacuum": "off",
    "log_min_messages": "fatal",
}


def programs() -> Path:
    """The folder of the server's programs; they stand beside the path in Debian."""
    if found := shutil.which("postgres"):
        return Path(found).parent
    versions = sorted(Path("/").glob(INSTALLED.lstrip("/")))
    assert versions, "PostgreSQL is needed: .ci/postgres.sh installs it (Debian: postgresql)"
    return versions[-1].parent


IN_IT = "FROM pg_stat_activity WHERE pid <> pg_backend_pid() AND datname = "


class PostgresServer:
    """A server, and the databases that tests make in it."""

    def __init__(self) -> None:
        self.folder = Path(tempfile.mkdtemp(prefix="pg-"))
        self._data = self.folder / "data"
        self._programs = programs()
        self._numbers = count(1)
        self._process: subprocess.Popen[bytes] | None = None
        self._first: Address | None = None
        self._free: list[Address] = []
        self._used: list[Address] = []
        self._settings = ""
        if os.geteuid() == 0:
            user = pwd.getpwnam(OWNER)
            os.chown(self.folder, user.pw_uid, user.pw_gid)
        self.folder.chmod(0o711)
        flags = ["-E", "UTF8", "--locale=C.UTF-8", "-A", "trust", "-N", "-U", OWNER]
        self._run("initdb", "-D", str(self._data), *flags)
        self.start()
        self.ask(f"CREATE ROLE {ROLE} NOLOGIN")
        self.ask(f"CREATE ROLE {WRITER} LOGIN IN ROLE {ROLE}")

    def _as_owner(self, command: Sequence[str]) -> list[str]:
        if os.geteuid() != 0:  # only root may not run a server
            return list(command)
        to = ["setpriv", f"--reuid={OWNER}", f"--regid={OWNER}", "--init-groups"]
        return [*to, "--pdeathsig=QUIT", *command]

    def _run(self, program: str, *words: str) -> None:
        command = self._as_owner([str(self._programs / program), *words])
        done = subprocess.run(command, capture_output=True, text=True, cwd=self.folder, check=False)
        assert done.returncode == 0, done.stderr

    def start(self) -> None:
        """Start the server and wait until it answers."""
        settings = {**SETTINGS, "unix_socket_directories": str(self.folder)}
        words = [word for name, value in settings.items() for word in ("-c", f"{name}={value}")]
        program = str(self._programs / "postgres")
        with (self.folder.parent / f"{self.folder.name}.log").open("ab") as log:
            self._process = subprocess.Popen(
                self._as_owner([program, "-D", str(self._data), *words]),
                stdout=log,
                stderr=log,
                cwd=self.folder,
            )
        until = time.monotonic() + LONGEST_START
        while True:
            try:
                self.ask("SELECT 1")
            except psycopg.OperationalError:
                assert time.monotonic() < until, "the server does not answer"
                time.sleep(0.02)
            else:
                return

    def kill(self) -> None:
        """End the server as a power cut would: no process of it says goodbye."""
        assert self._process is not None
        self._process.send_signal(signal.SIGQUIT)
        self._process.wait(LONGEST_START)

    def stop(self) -> None:
        """End the server, and take away everything that it kept."""
        if self._process is not None and self._process.poll() is None:
            self.kill()
        shutil.rmtree(self.folder, ignore_errors=True)
        (self.folder.parent / f"{self.folder.name}.log").unlink(missing_ok=True)

    def address(self, database: str, user: str = OWNER) -> Address:
        """The address of a database, for a role."""
        return Address(f"postgresql://{user}@/{database}?host={self.folder}")

    def ask(self, query: str, database: str = "postgres") -> list[tuple[object, ...]]:
        """Run a statement as the owner of everything."""
        with psycopg.connect(self.address(database).text, autocommit=True) as connection:
            found = connection.execute(query.encode())
            return found.fetchall() if found.description else []

    def new_database(self, like: str = "template0") -> Address:
        """An empty database, or a copy of another one."""
        name = f"film_{next(self._numbers)}"
        self.ask(f"CREATE DATABASE {name} TEMPLATE {like}")
        return self.address(name)

    def new_log(self, folder: Path, title: str = "The Lamplighter") -> Path:
        """A production in a folder, whose log is one in which nothing was ever written; who logs
        there owns nothing. ``take_back`` gives the databases of all of them to later tests."""
        if self._first is None:
            self._first = self.new_database()
            beside = self.folder.parent / f"{self.folder.name}-first"
            create_production(beside, title, log=self._first)
            self._settings = (beside / "production.toml").read_text("utf-8")
            shutil.rmtree(beside)
            self._as_made()
        log = self._free.pop() if self._free else self.new_database(_database(self._first))
        self._used.append(log)
        folder.mkdir()
        mine = self.address(_database(log), WRITER)
        settings = self._settings.replace(self._first.text, mine.text)
        (folder / "production.toml").write_text(settings, "utf-8")
        return folder

    def _as_made(self) -> None:
        """Keep what a new log holds beside it, to begin anew with."""
        assert self._first is not None
        copies = (f"CREATE TABLE first.{name} AS TABLE {name};" for name in RECORDS)
        self.ask(f"CREATE SCHEMA first; {''.join(copies)}", _database(self._first))
        let_go()  # a database that somebody is in cannot be copied

    def address_of(self, folder: Path, user: str = OWNER) -> Address:
        """The address of the log of a production, for its owner."""
        found = address_in(folder)
        assert found is not None
        return self.address(_database(found), user)

    def spoil(self, folder: Path) -> None:
        """Give the log of a production to no later test: what guards it was changed."""
        name = _database(self.address_of(folder))
        self._used = [log for log in self._used if _database(log) != name]

    def cut_off(self, folder: Path) -> None:
        """Cut every connection to the log of a production, as a network does that fails."""
        with psycopg.connect(self.address("postgres").text, autocommit=True) as connection:
            _cut_off(connection, _database(self.address_of(folder)))

    def take_back(self) -> None:
        """Make the logs of a test anew, for the next one: a database takes longer to make."""
        anew = "".join(
            f"DELETE FROM {name}; INSERT INTO {name} SELECT * FROM first.{name};"
            for name in RECORDS
        )
        for log in self._used:
            with psycopg.connect(log.text, autocommit=True) as connection:
                _cut_off(connection, _database(log))
                connection.execute(f"SET session_replication_role = replica; {anew}".encode())
        self._free += self._used
        self._used.clear()


def _cut_off(connection: psycopg.Connection, database: str) -> None:
    """End every other connection to a database.

    The server can wait for their end itself, but looks no sooner than after a tenth of a second.
    """
    connection.execute(f"SELECT pg_terminate_backend(pid) {IN_IT}'{database}'".encode())
    until = time.monotonic() + LONGEST_START
    while connection.execute(f"SELECT 1 {IN_IT}'{database}' LIMIT 1".encode()).fetchone():
        assert time.monotonic() < until, f"somebody stays in {database}"
        time.sleep(0.002)


def _database(address: Address) -> str:
    return str(conninfo_to_dict(address.text)["dbname"])
