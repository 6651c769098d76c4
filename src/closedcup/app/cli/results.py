"""Commands for results: issue, release, classify, report."""

from pathlib import Path
from typing import Annotated

import typer

from closedcup.app.cli.arguments import ResultId, TestId
from closedcup.app.cli.meaning import print_classifications
from closedcup.app.cli.opened import By, Key, opened
from closedcup.app.cli.printing import AsJson, degrees, print_facts, print_json, print_list

_PANEL = "Results and reports"


def register(application: typer.Typer) -> None:
    """Add these commands to the command line."""
    for command in (result, release, report):
        application.command(rich_help_panel=_PANEL)(command)
    application.command("keep-file", rich_help_panel=_PANEL)(keep_file)


def result(
    test_id: TestId,
    by: By = None,
    key: Key = None,
    as_json: AsJson = False,
) -> None:
    """Issue the result of a finished series: corrections, precision, classification."""
    from closedcup.app.usecases.desk import overview
    from closedcup.app.usecases.results import results

    with opened(by) as laboratory:
        issued = results.issue_result(laboratory, test_id, key=key)
        answer = overview.result_overview(laboratory, issued.id)
    if as_json:
        print_json(answer)
        return
    print_facts(
        answer["statement"],
        [
            ("result", answer["id"]),
            ("reported", answer["reported_text"]),
            ("corrected, unrounded", degrees(answer["corrected_c"], 3)),
            ("repeatability r", degrees(answer["repeatability_c"], 2)),
            ("reproducibility R", degrees(answer["reproducibility_c"], 2)),
            ("apparatus", answer["apparatus_state"]),
            ("parameters", None if answer["confirmed"] else "unconfirmed"),
        ],
    )
    print_list("Steps", answer["steps"])
    print_list("Deviations", answer["deviations"])
    print_list("Warnings", answer["warnings"])
    print_list("May not be released yet", answer["reasons_to_hold"])
    print_classifications(answer["classifications"])


def release(
    result_id: ResultId,
    by: By = None,
    key: Key = None,
    as_json: AsJson = False,
) -> None:
    """Release a result, if its apparatus was verified and in control."""
    from closedcup.app.usecases.desk import overview
    from closedcup.app.usecases.results import results

    with opened(by) as laboratory:
        results.release_result(laboratory, result_id, key=key)
        answer = overview.result_overview(laboratory, result_id)
    if as_json:
        print_json(answer)
    else:
        print_facts("Released", [("result", result_id), ("reported", answer["reported_text"])])


def report(
    wanted: Annotated[
        str, typer.Argument(metavar="RESULT", help="A result, or the number of an issued report.")
    ],
    folder: Annotated[Path, typer.Option(help="Where to write the two files.")] = Path(),
    by: By = None,
    key: Key = None,
    as_json: AsJson = False,
) -> None:
    """Issue the report of a released result (or write an issued one again)."""
    from closedcup.app.usecases.results import reporting

    with opened(by) as laboratory:
        issued = reporting.report_on(laboratory, wanted, key=key)
        answer = reporting.write_report(laboratory, issued.number, folder)
    if as_json:
        print_json(answer)
    else:
        print_facts(f"Report {issued.number}", list(answer.items()))


def keep_file(
    result_id: ResultId,
    file: Annotated[Path, typer.Argument(help="The file to keep.")],
    what: Annotated[str, typer.Option(help="What it shows.")] = "",
    by: By = None,
    key: Key = None,
    as_json: AsJson = False,
) -> None:
    """Keep a photograph or the apparatus's own file beside a result, as it is."""
    from closedcup.app.cli.printing import read_file
    from closedcup.app.usecases.results import keeping_files

    content = read_file(file)
    with opened(by) as laboratory:
        answer = keeping_files.keep_file(laboratory, result_id, file.name, content, what, key=key)
    if as_json:
        print_json(answer)
    else:
        print_facts("Kept", list(answer.items()))
