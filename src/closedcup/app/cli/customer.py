"""Commands for what is settled with the customer about a sample or a result."""

from typing import Annotated

import typer

from closedcup.app.cli.arguments import ResultId, SampleId
from closedcup.app.cli.custody import print_keeping
from closedcup.app.cli.opened import By, Key, opened
from closedcup.app.cli.printing import AsJson

_PANEL = "The desk"
_Way = Annotated[str, typer.Option(help="By which way: telephone, letter, in person.")]
_At = Annotated[str | None, typer.Option("--at", help="When, if not now: a moment with offset.")]


def register(application: typer.Typer) -> None:
    """Add these commands to the command line."""
    for command in (question_condition, go_ahead, told):
        application.command(rich_help_panel=_PANEL)(command)


def question_condition(
    sample: SampleId,
    what: Annotated[str, typer.Option(help="What is wrong with it.")],
    by: By = None,
    key: Key = None,
    as_json: AsJson = False,
) -> None:
    """Question a sample's condition: testing waits until the customer has been heard."""
    from closedcup.app.usecases.desk.customer import question_condition as record

    with opened(by) as laboratory:
        answer = record(laboratory, sample, what, key=key)
    print_keeping(answer, as_json=as_json)


def go_ahead(
    sample: SampleId,
    customer: Annotated[str, typer.Option("--from", help="Who of the customer said it.")],
    way: _Way,
    words: Annotated[str, typer.Option(help="What they said.")],
    proceed: Annotated[
        bool, typer.Option("--proceed/--do-not-test", help="Whether it is to be tested.")
    ] = True,
    at: _At = None,
    by: By = None,
    key: Key = None,
    as_json: AsJson = False,
) -> None:
    """Record what the customer said of testing a sample in a poor condition."""
    from closedcup.app.usecases.desk.customer import record_go_ahead

    with opened(by) as laboratory:
        answer = record_go_ahead(
            laboratory, sample, customer, way, words, proceed=proceed, said_at=at, key=key
        )
    print_keeping(answer, as_json=as_json)


def told(
    result: ResultId,
    customer: Annotated[str, typer.Option("--customer", help="Who was told.")],
    way: _Way,
    said: Annotated[str, typer.Option(help="What they said.")],
    at: _At = None,
    by: By = None,
    key: Key = None,
    as_json: AsJson = False,
) -> None:
    """Log that a customer was told of a result outside its limit, and what they said."""
    from closedcup.app.usecases.desk.customer import tell_out_of_specification

    with opened(by) as laboratory:
        answer = tell_out_of_specification(
            laboratory, result, customer, way, said, told_at=at, key=key
        )
    print_keeping(answer, as_json=as_json)
