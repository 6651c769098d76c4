"""Commands for what happens to a sample at the desk: custody, openings, retention, the customer."""

from pathlib import Path
from typing import Annotated, Any

import typer

from closedcup.app.cli.arguments import SampleId
from closedcup.app.cli.opened import By, Key, opened
from closedcup.app.cli.printing import (
    AsJson,
    degrees,
    print_facts,
    print_json,
    print_list,
    print_rows,
    write_file,
)

_PANEL = "The desk"


def register(application: typer.Typer) -> None:
    """Add these commands to the command line."""
    for command in (label, hand_over, open_, left, keep, custody, disposals, dispose):
        name = "open" if command is open_ else None
        application.command(name=name, rich_help_panel=_PANEL)(command)


def label(
    samples: Annotated[
        list[str], typer.Argument(metavar="SAMPLE…", help="Ids of samples: S-0001.")
    ],
    to: Annotated[Path, typer.Option(help="Where to write: .svg or .pdf.")],
    address: Annotated[
        str,
        typer.Option(help="Of the pages, as phones reach them.", envvar="CLOSEDCUP_ADDRESS"),
    ] = "",
    sheet: Annotated[bool, typer.Option("--sheet", help="Labels on A4, three in a row.")] = False,
    skip: Annotated[int, typer.Option(help="Places of the first sheet that are used.")] = 0,
    as_json: AsJson = False,
) -> None:
    """Write the label of a sample, or a sheet of labels; the code leads to the sample's page."""
    from closedcup.app.usecases.desk import labels

    with opened() as laboratory:
        if sheet or len(samples) > 1:
            content = labels.label_sheet(laboratory, samples, address, skip=skip, name=to.name)
        else:
            content = labels.label_file(laboratory, samples[0], to.name, address)
        code = labels.label_of(laboratory, samples[0], address).code
    write_file(to, content)
    answer = {"file": str(to), "samples": samples, "code": code}
    if as_json:
        print_json(answer)
        return
    leads = "" if code.startswith("http") else " (give --address, and it leads to the page)"
    print_facts("", [("written", str(to)), ("code", f"{code}{leads}")])


def hand_over(
    sample: SampleId,
    to: Annotated[str, typer.Option(help="Who takes it: an id, or words for somebody outside.")],
    place: Annotated[str, typer.Option(help="Where it stands now.")],
    giver: Annotated[
        str | None, typer.Option("--from", help="Who had it, if not the one on record.")
    ] = None,
    by: By = None,
    key: Key = None,
    as_json: AsJson = False,
) -> None:
    """Record who took a sample, from whom, and where it stands now."""
    from closedcup.app.usecases.desk.custody import hand_over as record

    with opened(by) as laboratory:
        answer = record(laboratory, sample, to, place, giver=giver, key=key)
    print_keeping(answer, as_json=as_json)


def open_(
    sample: SampleId,
    why: Annotated[str, typer.Option(help="What for.")],
    shows: Annotated[
        str | None, typer.Option(help="Its temperature as it was opened: “4 degC”.")
    ] = None,
    by: By = None,
    key: Key = None,
    as_json: AsJson = False,
) -> None:
    """Record that a sample was opened, how cold it was and what for."""
    from closedcup.app.usecases.desk.custody import open_sample
    from closedcup.quantities import parse_temperature

    with opened(by) as laboratory:
        read = None if shows is None else parse_temperature(shows, where="shows")
        answer = open_sample(laboratory, sample, why, read, key=key)
    print_keeping(answer, as_json=as_json)


def left(
    sample: SampleId,
    volume: Annotated[str, typer.Option(help="What is left as measured: “40 mL”.")],
    why: Annotated[str, typer.Option(help="Why it is not what the record reckons.")],
    by: By = None,
    key: Key = None,
    as_json: AsJson = False,
) -> None:
    """Record how much of a sample is left; specimens draw on that from now on."""
    from closedcup.app.usecases.desk.custody import note_left
    from closedcup.quantities import parse_volume

    with opened(by) as laboratory:
        answer = note_left(laboratory, sample, parse_volume(volume), why, key=key)
    print_keeping(answer, as_json=as_json)


def keep(
    sample: SampleId,
    reason: Annotated[str, typer.Option(help="Why it is agreed anew.")],
    priority: Annotated[str | None, typer.Option(help="urgent or routine.")] = None,
    due: Annotated[str | None, typer.Option(help="The day it is due: 2026-03-06.")] = None,
    until: Annotated[str | None, typer.Option(help="Last day it is kept: 2026-06-30.")] = None,
    days: Annotated[int | None, typer.Option(help="Days it is kept from the last report.")] = None,
    back: Annotated[
        str | None, typer.Option(help="How much is kept back for a dispute: “50 mL”.")
    ] = None,
    by: By = None,
    key: Key = None,
    as_json: AsJson = False,
) -> None:
    """Agree anew how soon a sample is due, how long it is kept, how much is kept back."""
    from closedcup.app.usecases.desk.retention import agree_keeping
    from closedcup.quantities import parse_volume

    with opened(by) as laboratory:
        answer = agree_keeping(
            laboratory,
            sample,
            reason,
            priority=priority,
            due=due,
            keep_until=until,
            keep_days=days,
            kept_back=None if back is None else parse_volume(back),
            key=key,
        )
    print_keeping(answer, as_json=as_json)


def custody(sample: SampleId, as_json: AsJson = False) -> None:
    """Show how a sample is kept: who has it, each opening, what is left, how long it is kept."""
    from closedcup.app.usecases.desk.view import keeping_of

    with opened() as laboratory:
        answer = keeping_of(laboratory, sample)
    print_keeping(answer, as_json=as_json)


def disposals(as_json: AsJson = False) -> None:
    """List the finished samples that are still there; those that may be disposed of first."""
    from closedcup.app.usecases.desk.retention import disposal_list

    with opened() as laboratory:
        listed = disposal_list(laboratory)
    if as_json:
        print_json(listed)
        return
    rows = [
        row
        | {
            "goes": "may go"
            if row["may_go"]
            else f"dispute {row['dispute']}" * bool(row["dispute"])
        }
        | {"left": f"{row['left_ml']:g} mL"}
        for row in listed
    ]
    columns = [("id", "sample"), ("description", "what it is"), ("left", "left")]
    print_rows(rows, [*columns, ("retention", "retention"), ("goes", "")])


def dispose(
    sample: SampleId,
    how: Annotated[
        str | None, typer.Option(help="How it goes; without it, only what to mind is told.")
    ] = None,
    early_because: Annotated[
        str, typer.Option(help="Why it goes before its retention has ended.")
    ] = "",
    by: By = None,
    key: Key = None,
    as_json: AsJson = False,
) -> None:
    """Say as which waste a sample goes and what to mind, and record that it is gone."""
    from closedcup.app.usecases.desk import retention

    with opened(by) as laboratory:
        facts = retention.disposal_facts(laboratory, sample)
        if how is not None:
            answer = retention.dispose(
                laboratory, sample, how, early_because=early_because, key=key
            )
    if as_json:
        print_json(facts if how is None else answer)
        return
    print_facts(f"Sample {sample}", [("waste", facts["waste_class"]), ("", facts["retention"])])
    print_list("Mind", facts["cautions"])
    if how is not None:
        print_facts("", [("recorded", answer["disposed"]["how"])])


def print_keeping(answer: dict[str, Any], *, as_json: bool) -> None:
    """Print how a sample is kept."""
    if as_json:
        print_json(answer)
        return
    with_whom = answer["holder"] and f"{answer['holder']}, {answer['place']}"
    print_facts(
        f"Sample {answer['sample']}",
        [
            ("with", with_whom or "nobody was recorded yet"),
            ("priority", answer["priority"]),
            ("due", answer["due"] and f"{answer['due']} ({answer['due_words'] or 'done'})"),
            ("last read", degrees(answer["last_temperature_c"])),
            ("left", f"{answer['volume_left_ml']:g} mL"),
            ("kept back", answer["kept_back_ml"] and f"{answer['kept_back_ml']:g} mL"),
            ("retention", answer["retention"]),
            ("waits", "for the customer" if answer["waits_for_customer"] else None),
            ("gone", answer["disposed"] and answer["disposed"]["how"]),
        ],
    )
    print_list("Mind", answer["warnings"])
    print_list(
        "Custody",
        [
            f"{row['at'][:16].replace('T', ' ')}  {row['from']} → {row['to']}, {row['place']}"
            for row in answer["custody"]
        ],
    )
    print_list(
        "Openings",
        [
            f"{row['at'][:16].replace('T', ' ')}  {row['by']}, "
            f"{degrees(row['temperature_c']) or 'temperature not read'}: {row['why']}"
            for row in answer["openings"]
        ],
    )
