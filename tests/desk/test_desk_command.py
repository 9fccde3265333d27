"""`credits desk`: what it prints, what it refuses, how it ends."""

from __future__ import annotations

import os
import signal
import socket
import ssl
import subprocess
import sys
import time
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from credits.cli.main import run

ROOT = Path(__file__).resolve().parents[2]


@contextmanager
def running(folder: Path, *words: str, **env: str) -> Iterator[tuple[str, subprocess.Popen[str]]]:
    """The command as it runs, and the address that it printed."""
    process = subprocess.Popen(
        [sys.executable, "-m", "credits", "desk", "--no-browser", "-p", str(folder), *words],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        env={**os.environ, "PYTHONPATH": str(ROOT), **env},
    )
    assert process.stdout is not None
    try:
        yield process.stdout.readline().strip(), process
    finally:
        process.kill()
        process.communicate()


def test_it_prints_its_address_serves_it_and_ends_with_a_word(film: Path) -> None:
    with running(film, "--no-site") as (address, process):
        assert address.startswith("http://127.0.0.1:")
        cookies = urllib.request.HTTPCookieProcessor()
        with urllib.request.build_opener(cookies).open(address, timeout=60) as answer:
            assert "The Small Film" in answer.read().decode()
        process.send_signal(signal.SIGINT)
        out, err = process.communicate(timeout=60)
    assert process.returncode == 0
    assert out == ""
    assert "reachable from this machine alone" in err
    assert "The desk is closed." in err


def test_the_port_is_the_one_that_is_named_and_a_taken_one_is_said(
    film: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        port = other.getsockname()[1]
        assert run(["desk", "--no-browser", "-p", str(film), "--port", str(port)]) == 2
        assert f"--port '{port}'" in capsys.readouterr().err
    with running(film, "--no-site", "--port", str(port)) as (address, _):
        assert address.startswith(f"http://127.0.0.1:{port}/enter?token=")


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--port", "0"], "--port"),
        (["--port", "70000"], "--port"),
        (["--for", "0.0.0.0"], "no address that can be typed"),
        (["--for", "127.0.0.1"], "--certificate"),
        (["--certificate", "x.pem"], "--for"),
        (["--for", "127.0.0.1", "--certificate", "no.pem", "--key", "no.pem"], "is no file"),
    ],
)
def test_a_wrong_call_is_said(
    film: Path, capsys: pytest.CaptureFixture[str], words: list[str], said: str
) -> None:
    assert run(["desk", "--no-browser", "-p", str(film), *words]) == 2
    err = capsys.readouterr().err
    assert said in err
    assert "Traceback" not in err


@pytest.fixture(scope="session")
def certificate(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    """A certificate for this machine's loopback address, and its key."""
    folder = tmp_path_factory.mktemp("certificate")
    own, key = folder / "own.pem", folder / "key.pem"
    subprocess.run(
        ["openssl", "req", "-x509", "-newkey", "rsa:2048", "-nodes", "-days", "2",
         "-subj", "/CN=desk", "-addext", "subjectAltName=IP:127.0.0.1", "-keyout", str(key),
         "-out", str(own)],
        check=True, capture_output=True,
    )  # fmt: skip
    return own, key


def test_for_other_machines_it_needs_a_password(
    film: Path,
    certificate: tuple[Path, Path],
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    own, key = map(str, certificate)
    words = ["desk", "--no-browser", "-p", str(film), "--for", "127.0.0.1"]
    for password in ("", "short"):
        monkeypatch.setenv("CREDITS_DESK_PASSWORD", password)
        assert run([*words, "--certificate", own, "--key", key]) == 2
        assert "password of 8 characters or more" in capsys.readouterr().err
    assert run([*words, "--certificate", key, "--key", own]) == 2
    assert "cannot be used with its key" in capsys.readouterr().err


def test_for_other_machines_it_is_encrypted(film: Path, certificate: tuple[Path, Path]) -> None:
    own, key = certificate
    words = ("--no-site", "--for", "127.0.0.1", "--certificate", str(own), "--key", str(key))
    with running(film, *words, CREDITS_DESK_PASSWORD="correct horse") as (address, _):
        assert address.startswith("https://127.0.0.1:")
        assert "token" not in address
        context = ssl.create_default_context(cafile=str(own))
        with urllib.request.urlopen(address, context=context, timeout=60) as answer:
            assert 'type="password"' in answer.read().decode()
            assert answer.headers["content-security-policy"].startswith("default-src 'none'")


def test_the_office_site_is_renewed_as_entries_come(film: Path) -> None:
    with running(film):
        page = film / "site" / "office" / "index.html"
        for _ in range(4000):
            if page.is_file():
                break
            time.sleep(0.01)
        assert page.is_file()
