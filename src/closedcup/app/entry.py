"""The command `closedcup`: run it, and turn every refusal into words and an exit status.

Exit status: 0 answered; 2 the input was wrong; 3 refused, no honest answer can be given;
4 answered, and the answer of a check is no.
"""

import json
import sys
from typing import Annotated

import typer

from closedcup.app.cli.application import application
from closedcup.app.cli.opened import By
from closedcup.errors import ClosedcupError


def main() -> None:
    """Run the command line and exit with a status that means something."""
    for stream in (sys.stdout, sys.stderr):
        # A console without these signs (older Windows) must not stop an answer.
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")
    sys.exit(run(sys.argv[1:]))


def run(arguments: list[str]) -> int:
    """Run one command; return its exit status."""
    wants_json = "--json" in arguments
    try:
        status = application(arguments, standalone_mode=False)
    except ClosedcupError as error:
        _tell(error.as_json(), str(error), wants_json=wants_json)
        return error.exit_status
    except typer.TyperException as error:
        usage = _usage(error, arguments)
        _tell({"error": usage}, f"{usage['what']} {usage['fix']}", wants_json=wants_json)
        return error.exit_code
    except (typer.Abort, KeyboardInterrupt):
        print("Stopped. Everything recorded so far is kept.", file=sys.stderr)  # noqa: T201
        return 130
    return status if isinstance(status, int) else 0


def _usage(error: typer.TyperException, arguments: list[str]) -> dict[str, str]:
    """Say what is wrong with the words of a command, what they are for, and where to look."""
    what = error.format_message()
    meant = getattr(getattr(error, "param", None), "help", None)
    if meant and what.startswith("Missing"):
        what = f"{what.removesuffix('.')}: {meant.removesuffix('.')}."
    context = getattr(error, "ctx", None)
    of_command = "" if context is None or context.parent is None else f" {context.info_name}"
    where = " ".join(arguments[:1])
    return {
        "kind": "usage",
        "what": what,
        "where": where,
        "fix": f"See closedcup{of_command} --help.",
    }


@application.command(rich_help_panel="Begin here")
def serve(
    port: Annotated[int, typer.Option(help="Port.")] = 8460,
    database: Annotated[
        str | None,
        typer.Option(help="Address of the records.", envvar="CLOSEDCUP_DATABASE"),
    ] = None,
    by: By = None,
    host: Annotated[
        str | None, typer.Option(help="Address to listen on for other PCs: “0.0.0.0”.")
    ] = None,
    known_as: Annotated[
        list[str] | None, typer.Option(help="This server's name for other PCs: “lab.example”.")
    ] = None,
    certificate: Annotated[str, typer.Option(help="Certificate, a PEM file.")] = "",
    certificate_key: Annotated[str, typer.Option(help="Its key, a PEM file.")] = "",
) -> None:
    """Serve the web pages on this PC only; stop with Ctrl-C.

    Other PCs are served with --host, --known-as and a certificate, once there are accounts.
    """
    from closedcup.app.web.serving import LOOPBACK, Beyond
    from closedcup.app.web.serving import serve as serve_pages

    beyond = None
    if host not in (None, LOOPBACK, "localhost", "::1"):
        names = tuple(known_as or ())
        beyond = Beyond(str(host), names, certificate, certificate_key)
    serve_pages(database, port=port, by=by, beyond=beyond)


def _tell(answer: object, text: str, *, wants_json: bool) -> None:
    if wants_json:
        print(json.dumps(answer, ensure_ascii=False, indent=2))  # noqa: T201
    else:
        from rich.console import Console
        from rich.text import Text

        Console(stderr=True).print(Text(text, style="bold red"))
