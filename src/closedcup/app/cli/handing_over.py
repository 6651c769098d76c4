"""Hand records over: an archive of the whole laboratory, a result with proof."""

from pathlib import Path
from typing import Annotated

import typer

from closedcup.app.cli.opened import opened
from closedcup.app.cli.printing import AsJson, print_facts, print_json, write_file
from closedcup.app.cli.progress import progress_of

_PANEL = "In and out"


def register(application: typer.Typer) -> None:
    """Add these commands to the command line."""
    application.command(rich_help_panel=_PANEL)(archive)
    application.command("open-archive", rich_help_panel=_PANEL)(open_archive)
    application.command(rich_help_panel=_PANEL)(prove)
    application.command("check-proof", rich_help_panel=_PANEL)(check_proof)
    application.command("tree-head", rich_help_panel=_PANEL)(tree_head)


def archive(
    file: Annotated[str, typer.Argument(help="Where to write it, ending in .zip.")],
    without_names: Annotated[
        bool, typer.Option("--without-names", help="Leave out the names of people.")
    ] = False,
    as_json: AsJson = False,
) -> None:
    """Write the whole laboratory into one file that needs no database."""
    from closedcup.app.usecases.records import handing_over

    with opened() as laboratory, progress_of(as_json=as_json) as progress:
        answer = handing_over.take_archive(
            laboratory, file, with_names=not without_names, progress=progress
        )
    if as_json:
        print_json(answer)
        return
    names = ("file", "events", "printed_seal", "documents", "people", "taken_at")
    print_facts("Archive", [(name.replace("_", " "), answer[name]) for name in names])


def open_archive(
    file: Annotated[str, typer.Argument(help="An archive.")],
    to: Annotated[str, typer.Option(help="Address of an empty place for it.")],
    as_json: AsJson = False,
) -> None:
    """Open an archive into an empty place, and check every seal."""
    from closedcup.app.usecases.records import handing_over

    with progress_of(as_json=as_json) as progress:
        answer = handing_over.unpack_archive(file, to, progress)
    if as_json:
        print_json(answer)
        return
    print_facts("Opened, every seal checked", list(answer.items()))


def tree_head(
    size: Annotated[
        int | None, typer.Option(help="Over the first so many events; over all unless given.")
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Show the root of the tree over all events: hand it to an auditor, who checks proofs by it."""
    from closedcup.app.usecases.records import handing_over

    with opened() as laboratory:
        answer = handing_over.tree_head(laboratory, size)
    if as_json:
        print_json(answer)
        return
    print_facts("Tree over the events", [("size", answer["tree_size"]), ("root", answer["root"])])


def prove(
    result: Annotated[str, typer.Argument(help="A result.")],
    file: Annotated[str, typer.Argument(help="Where to write the proof, ending in .json.")],
    as_json: AsJson = False,
) -> None:
    """Write one result with the proof that it is in the records, without giving the rest."""
    import json

    from closedcup.app.usecases.records import handing_over

    with opened() as laboratory:
        answer = handing_over.prove_result(laboratory, result)
    write_file(Path(file), json.dumps(answer, ensure_ascii=False, indent=1).encode())
    if as_json:
        print_json(answer)
        return
    print_facts(
        "Proof",
        [
            ("result", answer["result"]),
            ("event", f"{answer['leaf_index'] + 1} of {answer['tree_size']}"),
            ("root", answer["root"]),
            ("file", file),
        ],
    )


def check_proof(
    file: Annotated[str, typer.Argument(help="A proof that `prove` wrote.")],
    root: Annotated[
        str | None, typer.Option(help="The root as you know it from elsewhere, hexadecimal.")
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Check a result's proof without the records; exit 4 when it does not hold."""
    from closedcup.app.usecases.records import handing_over

    answer = handing_over.check_proof(file, root)
    if as_json:
        print_json(answer)
    else:
        holds = "yes" if answer["included"] else "NO"
        said = holds if answer["root_known"] else f"{holds}, by the root in the proof itself"
        print_facts(
            "Proof",
            [
                ("in the records", said),
                ("result", answer["result"]),
                ("statement", answer["statement"]),
                ("issued", answer["observed_at"]),
            ],
        )
        if not answer["root_known"]:
            typer.echo("Give --root, as you know it from elsewhere: only that makes it a proof.")
    if not answer["included"]:
        raise typer.Exit(4)
