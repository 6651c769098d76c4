"""Open the records for one command, on behalf of one person."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Annotated

import typer

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
    """Open the records that CLOSEDCUP_DATABASE names, and close them again."""
    from closedcup.app.opening import open_laboratory

    laboratory = open_laboratory(by=by)
    try:
        yield laboratory
    finally:
        laboratory.close()
