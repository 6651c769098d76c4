"""Commands about the records themselves, the validation pack, the demo and the web pages."""

import os
from typing import Annotated, Any

import typer

from closedcup.app.cli.opened import By, opened
from closedcup.app.cli.printing import AsJson, print_facts, print_json, print_list, print_rows
from closedcup.app.cli.progress import progress_of

_BEGIN = "Begin here"
_PANEL = "Records and checks"


def register(application: typer.Typer) -> None:
    """Add these commands to the command line."""
    application.command(rich_help_panel=_BEGIN)(demo)
    application.command(rich_help_panel=_BEGIN)(status)
    application.command("check-records", rich_help_panel=_PANEL)(check_records)
    application.command(rich_help_panel=_PANEL)(recompute)
    application.command(rich_help_panel=_PANEL)(validation)


def check_records(
    seal: Annotated[
        str | None, typer.Option(help="A seal printed on a report: is it still in the chain?")
    ] = None,
    index: Annotated[
        bool, typer.Option("--index", help="Make the index of samples again, and compare.")
    ] = False,
    as_json: AsJson = False,
) -> None:
    """Check every event against its seal; exit 4 when damaged or when the seal is not found."""
    from closedcup.app.usecases.records import records

    with opened() as laboratory:
        answer = records.check_records(laboratory, seal)
        if index and answer["intact"]:
            answer |= records.make_index_again(laboratory)
            answer["passed"] = answer["passed"] and answer["index_as_recorded"]
        if not answer["intact"]:
            answer |= records.note_damage(laboratory, answer)
    if as_json:
        print_json(answer)
    else:
        print_facts(
            "Records",
            [
                ("events", answer["events"]),
                ("seal", answer["printed_seal"]),
                ("intact", "yes" if answer["intact"] else "NO"),
                ("first damaged", answer["first_damaged"]),
                ("earlier seal", _found(answer["seal_found_at"], seal)),
                ("index of samples", _index_words(answer.get("index_as_recorded"))),
                ("noted as failure", answer.get("failure")),
                ("not noted as failure", answer.get("not_noted")),
            ],
        )
        print_list(
            "Problems", [f"event {each['event']}: {each['what']}" for each in answer["problems"]]
        )
        print_list("Notes", [each["what"] for each in answer["notes"]])
    if not answer["passed"]:
        raise typer.Exit(4)


def _index_words(as_recorded: bool | None) -> str | None:
    if as_recorded is None:
        return None
    return "as recorded" if as_recorded else "was NOT what the events say; it is made again"


def _found(found_at: int | None, asked: str | None) -> str | None:
    if asked is None:
        return None
    return "NOT in the chain" if found_at is None else f"in the chain, event {found_at}"


def status(as_json: AsJson = False) -> None:
    """Show where the records are and how they are kept safe."""
    from closedcup.app.usecases.records import records

    with opened() as laboratory:
        answer = records.status(laboratory)
    if as_json:
        print_json(answer)
    else:
        _print_status(answer)


def _print_status(answer: dict[str, Any]) -> None:
    kept, again = answer.pop("backups"), answer.pop("results_recomputed")
    taken, rehearsed, rule = kept["last_backup"], kept["last_rehearsal"], kept["rule"]
    facts = [
        (name.replace("_", " "), "; ".join(value) if isinstance(value, list) else value)
        for name, value in answer.items()
    ]
    facts += [
        (
            "last backup",
            f"{taken['taken_at']}, {taken['file']}, up to entry {taken['events']}, seal "
            f"{taken['seal'][:16]}…"
            if taken
            else "none on record",
        ),
        (
            "last rehearsal",
            f"{rehearsed['at']}, {rehearsed['file']}: "
            + ("whole" if rehearsed["whole"] else "CANNOT be restored")
            if rehearsed
            else "none on record",
        ),
        (
            "backup rule",
            f"every {rule['backup_days']} days, rehearsed every {rule['rehearsal_days']} days"
            if rule
            else "not decided",
        ),
        (
            "computed again",
            f"up to entry {again['through_event']} by closedcup {again['program']}: "
            f"{len(again['differing'])} of {again['compared']} differ"
            if again
            else "never: closedcup recompute",
        ),
    ]
    print_facts("Status", facts)
    print_list("Look after", kept["warnings"])


def recompute(
    everything: Annotated[
        bool, typer.Option("--all", help="Begin at the first result, not at the last one compared.")
    ] = False,
    by: By = None,
    as_json: AsJson = False,
) -> None:
    """Compute issued results again by this program; exit 4 when one differs. Changes none."""
    from closedcup.app.usecases.records import recomputing

    with opened(by) as laboratory, progress_of(as_json=as_json) as progress:
        answer = recomputing.recompute(laboratory, everything=everything, progress=progress)
    if as_json:
        print_json(answer)
    else:
        print_facts(
            "Issued results computed again",
            [
                ("results", answer["compared"]),
                ("since entry", answer["since_event"]),
                ("differ", len(answer["differing"])),
                ("noted as failure", answer["failure"]),
                ("not noted", answer["not_noted"]),
            ],
        )
        rows = [
            {"result": each["result"], "report": each["report"], **one}
            for each in answer["differing"]
            for one in each["differs"]
        ]
        if rows:
            columns = [("result", "result"), ("report", "report"), ("what", "what")]
            print_rows(rows, [*columns, ("issued", "as issued"), ("now", "by this program")])
    if not answer["passed"]:
        raise typer.Exit(4)


def validation(as_json: AsJson = False) -> None:
    """Compare the program's numbers with independent ones; exit 4 when one is off."""
    from closedcup.app.validation import run_validation

    answer = run_validation()
    if as_json:
        print_json(answer)
    else:
        print_rows(
            answer["comparisons"],
            [
                ("function", "function"),
                ("quantity", "quantity"),
                ("published", "published"),
                ("shown", "computed"),
                ("allowed", "allowed"),
                ("agrees", ""),
                ("known", "known"),
            ],
        )
        print_facts(
            "Summary",
            [
                ("comparisons", answer["count"]),
                ("within", answer["within"]),
                ("known by reading", f"{answer['share_read']:.0%}"),
            ],
        )
    if answer["within"] != answer["count"]:
        raise typer.Exit(4)


def demo(as_json: AsJson = False) -> None:
    """Make a made-up laboratory in CLOSEDCUP_DATABASE and run the main job on it."""
    from closedcup.demo import run_demo

    answer = run_demo(os.environ.get("CLOSEDCUP_DATABASE"), quiet=as_json)
    if as_json:
        print_json(answer)
