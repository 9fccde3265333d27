"""The command that serves the desk, the local page on which the day is logged."""

from __future__ import annotations

import logging
import os
import secrets
import socket
import ssl
import sys
import webbrowser
from contextlib import suppress
from pathlib import Path
from threading import Thread

import typer
import uvicorn

from credits.app.site import build_sites
from credits.cli.options import Number, ProductionOption, Text, option
from credits.cli.production import folder_of
from credits.cli.site import build_at_changes
from credits.cli.terminal import printing
from credits.desk.guard import DeskAddress
from credits.desk.server import Desk
from credits.editions import Edition
from credits.errors import Finding, WrongCall
from credits.store.log import open_log

LOOPBACK = "127.0.0.1"
PASSWORD = "CREDITS_DESK_PASSWORD"
LEAST_PASSWORD = 8
HIGHEST_PORT = 65535
ANY_ADDRESS = ("0.0.0.0", "::", "*")


def desk(
    port: Number = option(None, "--port", "The port; else a free one.", "N", min=1),
    no_browser: bool = option(False, "--no-browser", "Only print the address."),
    no_site: bool = option(False, "--no-site", "Do not build the office site beside it."),
    host: Text = option(
        None,
        "--for",
        f"Serve other machines too, by this name or address of this one; asks for a password,"
        f" or takes {PASSWORD}.",
        "HOST",
    ),
    certificate: Path | None = option(
        None, "--certificate", "With --for: the certificate, a PEM file.", "FILE"
    ),
    key: Path | None = option(None, "--key", "With --for: its private key, a PEM file.", "FILE"),
    production: ProductionOption = None,
) -> None:
    """Log the day on a local page in the browser.

    The page is reachable from this machine alone, unless --for says otherwise. Ctrl-C ends it.
    """
    folder = folder_of(production)
    with open_log(folder) as log:  # what is wrong with it is said before a browser opens
        log.position()
    if port is not None and port > HIGHEST_PORT:
        hint = f"Write 1 to {HIGHEST_PORT}, or leave it out for a free one."
        raise WrongCall(Finding("is no port", hint, column="--port", value=str(port)))
    if host is None and (certificate or key):
        raise WrongCall(Finding("is for --for HOST", "Name the host too.", column="--certificate"))
    is_open = host is not None
    if host is not None:
        _require_host(host, certificate, key)
    password = _password() if is_open else None
    bound = _bound(host or LOOPBACK, port or 0)
    address = DeskAddress(host or LOOPBACK, bound.getsockname()[1], is_open)
    served = Desk(folder, address, secrets.token_urlsafe(32), password, has_site=not no_site)
    if not no_site:
        Thread(target=_keep_site, args=(folder,), daemon=True).start()
    printing.say(served.entrance)
    reach = "from this machine alone" if not is_open else f"from every machine that reaches {host}"
    printing.remark(f"The desk is open at this address, reachable {reach}. Ctrl-C ends it.")
    if not no_browser:
        webbrowser.open(served.entrance)
    with suppress(KeyboardInterrupt):
        desk_server(served, certificate, key).run(sockets=[bound])
    printing.remark("The desk is closed. Everything that it confirmed is in the log.")


def desk_server(
    served: Desk, certificate: Path | None = None, key: Path | None = None
) -> uvicorn.Server:
    """Make what serves a desk; it is run with a socket that is bound."""
    # What goes wrong is answered to the browser; the terminal is no place for it.
    logging.getLogger("uvicorn").addHandler(logging.NullHandler())
    logging.getLogger("uvicorn").propagate = False
    config = uvicorn.Config(
        served.app,
        http="h11",
        ws="none",
        lifespan="off",
        log_config=None,
        access_log=False,
        server_header=False,
        proxy_headers=False,
        timeout_graceful_shutdown=2,
        ssl_certfile=certificate,
        ssl_keyfile=key,
    )
    return uvicorn.Server(config)


def _bound(host: str, port: int) -> socket.socket:
    """Bind the port, or a free one. Raises WrongCall where it is taken, or the host is not ours."""
    try:
        family, kind, protocol, _, where = socket.getaddrinfo(
            host, port, type=socket.SOCK_STREAM, flags=socket.AI_PASSIVE
        )[0]
        bound = socket.socket(family, kind, protocol)
        if sys.platform != "win32":
            bound.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        bound.bind(where)
        bound.listen(100)
    except (OSError, OverflowError, UnicodeError) as error:
        if port:
            what = f"cannot be served at {host} ({getattr(error, 'strerror', None) or error})"
            hint = "Another program may hold it. Name another one, or leave it out for a free one."
            raise WrongCall(Finding(what, hint, column="--port", value=str(port))) from error
        hint = "Name a name or an address of this machine."
        raise WrongCall(Finding("cannot be served", hint, column="--for", value=host)) from error
    return bound


def _require_host(host: str, certificate: Path | None, key: Path | None) -> None:
    """Raise WrongCall where something is missing that a desk for other machines needs."""
    if host in ANY_ADDRESS or not host.strip():
        hint = "Name the name or address that the others will type."
        raise WrongCall(
            Finding("is no address that can be typed", hint, column="--for", value=host)
        )
    for name, file in (("--certificate", certificate), ("--key", key)):
        if file is None:
            what = "is missing: what is typed would go over the network for everybody to read"
            raise WrongCall(Finding(what, "Name a PEM file.", column=name))
        if not file.is_file():
            raise WrongCall(Finding("is no file", "Name a PEM file.", column=name, value=str(file)))
    try:
        context = ssl.create_default_context(ssl.Purpose.CLIENT_AUTH)
        context.load_cert_chain(certificate or "", key)
    except (ssl.SSLError, OSError) as error:
        what = f"cannot be used with its key ({getattr(error, 'reason', None) or error})"
        hint = "Name a certificate and its own key, both PEM files."
        raise WrongCall(Finding(what, hint, None, "--certificate", str(certificate))) from error


def _password() -> str:
    """Return the password of a desk for other machines. Raises WrongCall for a short one."""
    given = os.environ.get(PASSWORD, "")
    if not given and printing.is_terminal(sys.stdin):
        given = str(typer.prompt("Password for the desk", hide_input=True, err=True))
    if len(given) < LEAST_PASSWORD:
        what = f"a desk for other machines needs a password of {LEAST_PASSWORD} characters or more"
        raise WrongCall(Finding(what, f"Set {PASSWORD}, or call it on a terminal."))
    return given


def _keep_site(folder: Path) -> None:
    """Build the office site, and again at every change, for as long as the desk is open."""

    def build() -> None:
        try:
            build_sites(folder, (Edition.OFFICE,))
        except OSError as error:
            printing.remark(f"The office site was not built: {error.strerror or error}.")

    build_at_changes(folder, None, build)
