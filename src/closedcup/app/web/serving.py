"""Serve the pages: to this PC only, or to others, encrypted and with accounts."""

import os
import socket
from dataclasses import dataclass
from pathlib import Path

from closedcup.app.opening import OpenLaboratory, open_laboratory
from closedcup.app.web.security import THIS_PC, Place
from closedcup.errors import InputError, Refused

LOOPBACK = "127.0.0.1"


@dataclass(frozen=True, slots=True)
class Beyond:
    """How other PCs reach the pages: the address to listen on, the names, the certificate's files.

    names: as browsers name this server (“lab.example”); certificate: PEM, with its chain.
    """

    host: str
    names: tuple[str, ...]
    certificate: str
    certificate_key: str


def serve(
    database_url: str | None,
    *,
    port: int = 8460,
    by: str | None = None,
    beyond: Beyond | None = None,
) -> None:
    """Serve until interrupted; print the address. InputError when the port is taken.

    The records are opened once before the first page, so that an unreadable or foreign file is
    told here and not in the browser. Beyond this PC it is refused without accounts, and without
    a certificate: passwords would cross the network for all to read.
    """
    import uvicorn

    from closedcup.app.web.application import create_app

    with listen(port, LOOPBACK if beyond is None else beyond.host) as listening:
        with open_laboratory(database_url, by=by) as opened:
            place = THIS_PC if beyond is None else place_beyond(opened, beyond)
        application = create_app(lambda: open_laboratory(database_url, by=by), place)
        name = LOOPBACK if beyond is None else beyond.names[0]
        address = f"{place.scheme}://{name}:{listening.getsockname()[1]}"
        who = "this PC only" if beyond is None else "whoever has an account"
        print(f"closedcup is at {address} ({who}; stop with Ctrl+C)", flush=True)  # noqa: T201
        settings = uvicorn.Config(
            application,
            log_level="warning",
            server_header=False,
            access_log=False,
            lifespan="on",
            proxy_headers=False,  # nobody stands between: no header tells the scheme
            ssl_certfile=None if beyond is None else beyond.certificate,
            ssl_keyfile=None if beyond is None else beyond.certificate_key,
        )
        uvicorn.Server(settings).run(sockets=[listening])


def place_beyond(opened: OpenLaboratory, beyond: Beyond) -> Place:
    """Return under which names others reach the pages; Refused where that would be unsafe."""
    if not opened.has_accounts:
        raise Refused(
            "accounts-needed",
            "Without accounts everybody on the network could record anything.",
            where="host",
            fix="Make the first account: closedcup make-account ID. Or serve this PC only.",
        )
    files = (beyond.certificate, beyond.certificate_key)
    if not all(file and Path(file).is_file() for file in files):
        raise Refused(
            "certificate-needed",
            "Without a certificate passwords would cross the network for all to read.",
            where="certificate",
            fix="Give --certificate and --certificate-key, PEM files that browsers here trust.",
        )
    if not beyond.names:
        raise InputError(
            "name-missing",
            "It is not said under which name browsers reach this server.",
            where="known-as",
            fix="Give the certificate's name: --known-as lab.example",
        )
    return Place(frozenset(beyond.names), encrypted=True)


def listen(port: int, host: str = LOOPBACK) -> socket.socket:
    """Take a port of an address (0: a free one); InputError when it is taken."""
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    listening = socket.socket(family, socket.SOCK_STREAM)
    if os.name == "posix":  # a port that was just left is free; elsewhere this means another thing
        listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listening.bind((host, port))
    except OSError as error:
        listening.close()
        raise InputError(
            "port-taken",
            f"Port {port} of {host} cannot be used: {error.strerror}.",
            where="port",
            fix="Is another closedcup running? Else choose another with --port.",
        ) from error
    return listening
