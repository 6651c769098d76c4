"""Open the records for one command, on behalf of one person."""

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Annotated

import typer

from closedcup.errors import Refused

if TYPE_CHECKING:
    from closedcup.app.opening import OpenLaboratory

By = Annotated[
    str | None,
    typer.Option("--by", help="Who makes this entry (an id).", envvar="CLOSEDCUP_PERSON"),
]
Key = Annotated[
    str | None,
    typer.Option("--key", help="A key of your own: the same entry sent twice is recorded once."),
]


@contextmanager
def opened(by: str | None = None) -> Iterator["OpenLaboratory"]:
    """Open the records that CLOSEDCUP_DATABASE names, and close them again.

    Whoever signed in from here acts; where nobody did, `by` is taken on trust, and refused by
    records that have accounts.
    """
    from closedcup.app.opening import open_laboratory

    laboratory = open_laboratory(by=by)
    try:
        _come_back(laboratory, by)
        yield laboratory
    finally:
        laboratory.close()


def _come_back(laboratory: "OpenLaboratory", by: str | None) -> None:
    """Act for whoever signed in from here, if the session lasts still."""
    from closedcup.app.cli.session_file import drop_token, token_for

    token = token_for(laboratory.store.place)
    if not token:
        return
    from closedcup.app.usecases.people.signing_in import resume

    if not resume(laboratory, token):
        drop_token(laboratory.store.place)
    elif by not in (None, laboratory.by):
        raise Refused(
            "signed-in-as-another",
            f"You are signed in as {laboratory.by}, and the entry is to bear {by}.",
            where="by",
            fix="Leave out --by and CLOSEDCUP_PERSON, or sign in as that person.",
        )


def ask_password(words: str, *, twice: bool = False) -> str:
    """Ask for a password without showing it; from a pipe, read one line."""
    if sys.stdin.isatty():
        return str(typer.prompt(words, hide_input=True, confirmation_prompt=twice))
    return sys.stdin.readline().rstrip("\n")
