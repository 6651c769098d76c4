"""Commands that find things again: the list of samples, saved filters, and a search over all."""

from typing import Annotated

import typer

from closedcup.app.cli.opened import By, Key, opened
from closedcup.app.cli.printing import AsJson, print_facts, print_json, print_rows

_PANEL = "The desk"
_States = Annotated[
    list[str] | None, typer.Option("--state", help="Only in this state; once for each.")
]
_Overdue = Annotated[bool, typer.Option("--overdue", help="Only what was due before today.")]
_Urgent = Annotated[bool, typer.Option("--urgent", help="Only what is urgent.")]
_Words = Annotated[list[str] | None, typer.Argument(metavar="WORDS", help="All must occur.")]


def register(application: typer.Typer) -> None:
    """Add these commands to the command line."""
    for command in (samples, search, save_filter, filters, drop_filter):
        application.command(rich_help_panel=_PANEL)(command)


def samples(
    words: _Words = None,
    state: _States = None,
    overdue: _Overdue = False,
    urgent: _Urgent = False,
    limit: Annotated[int | None, typer.Option(help="So many at most.")] = None,
    saved: Annotated[str | None, typer.Option("--filter", help="A saved filter.")] = None,
    as_json: AsJson = False,
) -> None:
    """List the samples with what is to be done next, the newest first."""
    from closedcup.app.usecases.desk import finding

    with opened() as laboratory:
        query = finding.asked_query(
            laboratory,
            " ".join(words or ()),
            states=state or (),
            overdue=overdue,
            urgent=urgent,
            limit=limit,
            saved=saved,
        )
        listed = finding.listed(laboratory, query)
    if as_json:
        print_json(listed)
        return
    print_rows(
        [line | {"urgent": "URGENT" if line["priority"] == "urgent" else ""} for line in listed],
        [
            ("id", "sample"),
            ("description", "what it is"),
            ("state", "state"),
            ("due_words", "due"),
            ("urgent", ""),
            ("next", "next"),
        ],
    )


def search(
    words: Annotated[list[str], typer.Argument(metavar="WORDS", help="All must occur.")],
    limit: Annotated[int, typer.Option(help="So many samples at most.")] = 50,
    as_json: AsJson = False,
) -> None:
    """Search everything: samples, tests, results, reports, apparatus, materials, people."""
    from closedcup.app.usecases.desk.finding import search as find_all

    with opened() as laboratory:
        hits = find_all(laboratory, " ".join(words), limit=limit)
    if as_json:
        print_json(hits)
    elif hits:
        print_rows(hits, [("what", "what"), ("id", "id"), ("says", "")])
    else:
        print_facts("", [("found", f"nothing on record has all of “{' '.join(words)}”")])


def save_filter(
    name: Annotated[str, typer.Argument(metavar="NAME", help="The filter's name.")],
    words: _Words = None,
    state: _States = None,
    overdue: _Overdue = False,
    urgent: _Urgent = False,
    by: By = None,
    key: Key = None,
    as_json: AsJson = False,
) -> None:
    """Save a search in the list of samples under a name, for everybody."""
    from closedcup.app.usecases.desk import finding

    with opened(by) as laboratory:
        answer = finding.save_filter(
            laboratory,
            name,
            " ".join(words or ()),
            states=state or (),
            overdue=overdue,
            urgent=urgent,
            key=key,
        )
    if as_json:
        print_json(answer)
    else:
        print_facts("Filter saved", [("use it with", f"closedcup samples --filter “{name}”")])


def filters(as_json: AsJson = False) -> None:
    """List the saved filters."""
    from closedcup.app.usecases.desk.finding import saved_filters

    with opened() as laboratory:
        listed = saved_filters(laboratory)
    if as_json:
        print_json(listed)
        return
    rows = [
        line
        | {"states": ", ".join(line["states"])}
        | {key: "yes" if line[key] else "" for key in ("overdue", "urgent")}
        for line in listed
    ]
    columns = ("name", "words", "states", "overdue", "urgent")
    print_rows(rows, [(each, each) for each in columns])


def drop_filter(
    name: Annotated[str, typer.Argument(metavar="NAME", help="The filter's name.")],
    by: By = None,
    key: Key = None,
    as_json: AsJson = False,
) -> None:
    """Drop a saved filter."""
    from closedcup.app.usecases.desk import finding

    with opened(by) as laboratory:
        answer = finding.drop_filter(laboratory, name, key=key)
    if as_json:
        print_json(answer)
    else:
        print_facts("", [("dropped", name)])
