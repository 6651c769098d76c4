"""Take in lists and files that others wrote."""

import csv
import time
from itertools import count
from pathlib import Path
from typing import Annotated, Any

import typer

from closedcup.app.cli.opened import By, opened
from closedcup.app.cli.printing import AsJson, print_facts, print_json, print_list, print_rows
from closedcup.app.cli.progress import progress_of
from closedcup.errors import InputError

_PANEL = "In and out"
_SHOWN = 20
_BETWEEN_ONCE_S = 1.0


def register(application: typer.Typer) -> None:
    """Add these commands to the command line."""
    application.command("import", rich_help_panel=_PANEL)(import_)
    application.command(rich_help_panel=_PANEL)(watch)


def import_(
    kind: Annotated[
        str, typer.Argument(help="samples, results, verifications, liquids or compositions.")
    ],
    file: Annotated[str, typer.Argument(help="A .csv, .xlsx, .ods, .json or .jsonl file.")],
    record: Annotated[
        bool, typer.Option("--record", help="Record what is new; without it, only look.")
    ] = False,
    good_rows_only: Annotated[
        bool, typer.Option("--good-rows-only", help="Record the others where rows are unfit.")
    ] = False,
    column: Annotated[
        list[str] | None, typer.Option("--map", help="FIELD=COLUMN; empty after = leaves it out.")
    ] = None,
    unit: Annotated[
        list[str] | None, typer.Option(help="FIELD=UNIT of a column: flash=degF, fraction=%.")
    ] = None,
    decimal: Annotated[str, typer.Option(help="The mark that parts decimals: . or ,")] = "",
    dates: Annotated[
        str, typer.Option(help="day-month-year, month-day-year or year-month-day.")
    ] = "",
    encoding: Annotated[str, typer.Option(help="Of a text file, such as cp1252.")] = "",
    sheet: Annotated[str, typer.Option(help="Of a workbook.")] = "",
    mapping: Annotated[str, typer.Option(help="Read by the mapping kept under this name.")] = "",
    keep_mapping: Annotated[
        str, typer.Option(help="Keep the mapping under this name for the next file.")
    ] = "",
    fates: Annotated[
        str, typer.Option(help="Write what becomes of every row to this CSV file.")
    ] = "",
    by: By = None,
    as_json: AsJson = False,
) -> None:
    """Show how a list would be read and what becomes of each row; with --record, take it in."""
    from closedcup.app.usecases.importing import files
    from closedcup.app.usecases.importing.run import fates as every_fate

    with opened(by) as laboratory, progress_of(as_json=as_json) as told:
        read = files.look_at(
            laboratory,
            kind,
            file,
            kept=mapping,
            columns=column or (),
            units=unit or (),
            decimal=decimal,
            dates=dates,
            encoding=encoding,
            sheet=sheet,
            told=told,
        )
        if fates:
            _write_fates(Path(fates), list(every_fate(read)))
        if not as_json and not record:
            _print_reading(files.dry_run(read))
        answer = (
            files.import_file(laboratory, read, good_rows_only=good_rows_only, told=told)
            if record
            else files.dry_run(read)
        )
        if keep_mapping:
            files.keep_mapping(laboratory, keep_mapping, read)
    if as_json:
        print_json(answer)
    else:
        _print_outcome(answer)


def _print_reading(answer: dict[str, Any]) -> None:
    shown = [
        {**each, "cells": " · ".join(each["cells"]), "column": each["column"] or "–"}
        for each in answer["columns"]
    ]
    print_rows(
        shown,
        [("field", "field"), ("column", "column"), ("unit", "unit"), ("cells", "first cells")],
    )
    print_list("Columns that fill nothing", answer["unused"])
    print_facts(
        "",
        [
            ("decimals", answer["decimal_mark"]),
            ("dates", answer["date_order"]),
            ("written as", answer["encoding"]),
            ("sheet", answer["sheet"]),
        ],
    )
    refused = [each for each in answer["fates"] if each["fate"] == "refused"]
    print_list(
        "Rows that cannot be taken",
        [
            f"row {row['row']}, {row['where']}: {row['what']} {row['fix']}"
            for row in refused[:_SHOWN]
        ]
        + ([f"and {len(refused) - _SHOWN} more; see --fates"] if len(refused) > _SHOWN else []),
    )


def _print_outcome(answer: dict[str, Any]) -> None:
    print_list("Note", answer["notices"])
    print_facts(
        "Nothing is recorded yet" if answer["dry_run"] else "Taken in",
        [
            ("rows", answer["rows"]),
            ("new", answer["new"]),
            ("on record already", answer["known"]),
            ("refused", answer["refused"]),
            ("entries recorded", None if answer["dry_run"] else answer["recorded"]),
        ],
    )
    if answer["dry_run"] and answer["new"]:
        typer.echo("When this is as you mean it, add --record.")


def _write_fates(path: Path, rows: list[dict[str, Any]]) -> None:
    with path.open("w", encoding="utf-8-sig", newline="") as file:
        writer = csv.DictWriter(file, ["row", "fate", "what", "where", "fix"])
        writer.writeheader()
        writer.writerows(rows)


def watch(
    folder: Annotated[str, typer.Argument(help="Where an apparatus leaves its files.")],
    mapping: Annotated[str, typer.Option(help="The kept mapping by which they are read.")],
    once: Annotated[
        bool, typer.Option("--once", help="Take in what is there now, and end.")
    ] = False,
    every: Annotated[float, typer.Option(help="Seconds between two looks.")] = 5.0,
    by: By = None,
    as_json: AsJson = False,
) -> None:
    """Take in every new file of a folder, the original kept beside what was read from it."""
    from closedcup.app.usecases.importing.watching import Watch

    if as_json and not once:
        raise InputError(
            "json-needs-once",
            "A folder that is watched without end has no one answer.",
            where="--json",
            fix="Add --once, and call it again when you want the next answer.",
        )
    answers = []
    with opened(by) as laboratory:
        watched = Watch(laboratory, Path(folder), mapping)
        # a file that grows between two looks is still being written
        for look in count():
            for answer in watched.look():
                if once:
                    answers.append(answer)
                if not as_json:
                    _print_taken(answer)
            if once and look:
                break
            time.sleep(_BETWEEN_ONCE_S if once else every)
    if as_json:
        print_json(answers)


def _print_taken(answer: dict[str, Any]) -> None:
    if not answer["refused_because"]:
        typer.echo(f"{answer['file']}: {answer['recorded']} recorded.")
        return
    typer.echo(f"{answer['file']}: not taken in. {answer['refused_because']}")
    said = answer["failure"] or f"it could not be noted. {answer['not_noted']}"
    typer.echo(f"  In the register of failures: {said}")
