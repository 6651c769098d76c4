"""Serve the pages to this PC only."""

import os
import socket

from closedcup.app.opening import open_laboratory
from closedcup.errors import InputError

LOOPBACK = "127.0.0.1"


def serve(database_url: str | None, *, port: int = 8460, by: str | None = None) -> None:
    """Serve until interrupted; print the address. InputError when the port is taken.

    The records are opened once before the first page, so that an unreadable or foreign file is
    told here and not in the browser.
    """
    import uvicorn

    from closedcup.app.web.application import create_app

    with listen(port) as listening:
        open_laboratory(database_url, by=by).close()
        application = create_app(lambda: open_laboratory(database_url, by=by))
        address = f"http://{LOOPBACK}:{listening.getsockname()[1]}"
        print(f"closedcup is at {address} (this PC only; stop with Ctrl+C)", flush=True)  # noqa: T201
        settings = uvicorn.Config(
            application, log_level="warning", server_header=False, access_log=False, lifespan="on"
        )
        uvicorn.Server(settings).run(sockets=[listening])


def listen(port: int) -> socket.socket:
    """Take a port of the loopback address (0: a free one); InputError when it is taken."""
    listening = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    if os.name == "posix":  # a port that was just left is free; elsewhere this means another thing
        listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listening.bind((LOOPBACK, port))
    except OSError as error:
        listening.close()
        raise InputError(
            "port-taken",
            f"Port {port} cannot be used: {error.strerror}.",
            where="port",
            fix="Is another closedcup running? Else choose another with --port.",
        ) from error
    return listening
