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
        usage = {"kind": "usage", "what": error.format_message(), "where": " ".join(arguments[:1])}
        if wants_json:
            _tell({"error": {**usage, "fix": "See closedcup --help."}}, "", wants_json=True)
        else:
            _tell({}, f"{error.format_message()} See closedcup --help.", wants_json=False)
        return error.exit_code
    except (typer.Abort, KeyboardInterrupt):
        print("Stopped. Everything recorded so far is kept.", file=sys.stderr)  # noqa: T201
        return 130
    return status if isinstance(status, int) else 0


@application.command(rich_help_panel="Records and checks")
def serve(
    port: Annotated[int, typer.Option(help="Port on this PC.")] = 8460,
    database: Annotated[
        str | None,
        typer.Option(help="Address of the records.", envvar="CLOSEDCUP_DATABASE"),
    ] = None,
    by: By = None,
) -> None:
    """Serve the web pages on this PC only; stop with Ctrl-C."""
    from closedcup.app.web.serving import serve as serve_pages

    serve_pages(database, port=port, by=by)


def _tell(answer: object, text: str, *, wants_json: bool) -> None:
    if wants_json:
        print(json.dumps(answer, ensure_ascii=False, indent=2))  # noqa: T201
    else:
        from rich.console import Console
        from rich.text import Text

        Console(stderr=True).print(Text(text, style="bold red"))
