"""The command that recommends a method."""

from typing import Annotated

import typer

from closedcup.app.cli.printing import AsJson, print_facts, print_json, print_list, print_rows

_PANEL = "Calculate"


def register(application: typer.Typer) -> None:
    """Add this command to the command line."""
    application.command(rich_help_panel=_PANEL)(choose)


def choose(
    product: Annotated[
        str,
        typer.Option(
            help="petroleum, solvent, paint, “viscous paint”, fame, “residual fuel”, "
            "film-forming, “used oil” or waste."
        ),
    ],
    purpose: Annotated[str, typer.Option(help="specification, transport, waste or screening.")],
    expected: Annotated[
        str | None, typer.Option(help="Expected flash point: “55 degC”. Left out: unknown.")
    ] = None,
    viscosity: Annotated[
        str | None, typer.Option(help="Kinematic, with its temperature: “4 mm2/s at 40 degC”.")
    ] = None,
    trait: Annotated[
        list[str] | None,
        typer.Option(
            help="water-borne, film-forming, “suspended solids”, “volatile contaminant”, "
            "halogenated or hazardous; once for each."
        ),
    ] = None,
    at_limit: Annotated[
        bool, typer.Option("--at-limit", help="Only whether a limit is met; no value is needed.")
    ] = False,
    available: Annotated[float | None, typer.Option(help="Sample there is, mL.")] = None,
    named: Annotated[
        list[str] | None, typer.Option(help="A method that the specification names.")
    ] = None,
    regime: Annotated[
        str | None,
        typer.Option(help="Whose test methods count: “UN class 3”, “49 CFR”, GHS, RCRA …"),
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Recommend a test method, and say why each other one was ruled out; exit 3 when none fits."""
    from closedcup.app.usecases.methods.choosing import recommended
    from closedcup.app.usecases.methods.methods_on_record import methods_in_use
    from closedcup.quantities import parse_temperature

    answer = recommended(
        product=product,
        purpose=purpose,
        expected=None if expected is None else parse_temperature(expected, where="expected"),
        viscosity=viscosity,
        traits=tuple(trait or ()),
        at_limit=at_limit,
        available_ml=available,
        named=tuple(named or ()),
        regime=regime,
        lookup=methods_in_use(),
    )
    if as_json:
        print_json(answer)
    else:
        best = next((row for row in answer["methods"] if row["state"] == "recommended"), None)
        if best is None:
            print_facts("No method on file fits", [("fix", "change what rules them out below")])
        else:
            print_facts(best["name"], [("id", best["id"]), ("why", " ".join(best["why"]))])
            print_list("Mind", best["mind"])
        print_rows(
            [
                {**row, "because": " ".join([*row["why"], *row["mind"]])}
                for row in answer["methods"]
                if row is not best
            ],
            [("id", "method"), ("state", ""), ("because", "why")],
        )
    if answer["recommended"] is None:
        raise typer.Exit(3)
