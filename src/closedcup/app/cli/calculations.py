"""Commands that need no records: estimates, corrections, precision, classes.

Every option that takes a quantity takes its unit; a bare number is refused with the right form.
"""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, cast

import typer

from closedcup.app.cli.printing import (
    AsJson,
    degrees,
    print_facts,
    print_json,
    print_list,
    print_rows,
)

if TYPE_CHECKING:
    from closedcup.app.usecases.methods.methods_on_record import MethodLookup
    from closedcup.laboratory.sample import Trust

MethodOption = Annotated[
    str | None, typer.Option("--method", help="A method's identifier, such as d3828-b.")
]
PressureOption = Annotated[
    str, typer.Option(help="Station pressure with its unit: “95.2 kPa”, “714 mmHg”.")
]
ProbeOption = Annotated[
    str | None, typer.Option(help="Correction to add to the probe's reading: “0.2 degC”.")
]


_PANEL = "Calculate"


def register(application: typer.Typer) -> None:
    """Add these commands to the command line."""
    for command in (estimate, correct, setpoint, precision):
        application.command(rich_help_panel=_PANEL)(command)


def estimate(
    component: Annotated[
        list[str],
        typer.Option(
            "-c",
            "--component",
            help="NAME=AMOUNT or CAS=AMOUNT, once for each part; also petrol, diesel, resin.",
        ),
    ],
    basis: Annotated[str, typer.Option(help="mole, mass or volume.")] = "mole",
    pressure: Annotated[
        str | None, typer.Option(help="Station pressure, for what the cup will show.")
    ] = None,
    method: MethodOption = None,
    activity: Annotated[
        str, typer.Option(help="unifac, dortmund or ideal; else by the kind of blend.")
    ] = "default",
    parameters: Annotated[
        Path | None, typer.Option(help="TOML file of NRTL, Wilson or UNIQUAC parameters.")
    ] = None,
    trust: Annotated[str, typer.Option(help="declared, measured or unknown.")] = "declared",
    normalise: Annotated[bool, typer.Option(help="Divide by the sum when it is not 1.")] = False,
    own: Annotated[
        Path | None,
        typer.Option(help="TOML or CSV file of the laboratory's own liquids and flash points."),
    ] = None,
    amount_uncertainty: Annotated[
        str | None,
        typer.Option(help="Standard uncertainty of each amount, a share of itself: “2 %”."),
    ] = None,
    cup_family: Annotated[
        str | None,
        typer.Option(
            help="Take reference figures of one family of cups: small scale, pensky-martens, tag, "
            "continuously closed."
        ),
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Estimate the flash point of a liquid or blend: a calculated value, not a test result."""
    from closedcup.app.usecases.liquids.estimating import (
        estimate_answer,
        own_liquids_from,
        parameters_from,
        relative_uncertainty,
    )
    from closedcup.mixtures.blend import as_basis
    from closedcup.quantities import parse_amount, parse_pressure

    lookup: MethodLookup | None = None
    if method is not None or trust != "declared":
        # Only here the records are loaded: the laboratory's own copy of a method may matter.
        from closedcup.app.usecases.desk.samples import as_trust
        from closedcup.app.usecases.methods.methods_on_record import method_in_use

        as_trust(trust)
        lookup = method_in_use
    answer = estimate_answer(
        tuple(parse_amount(text) for text in component),
        basis=as_basis(basis),
        pressure=None if pressure is None else parse_pressure(pressure),
        method_id=method,
        activity=activity,
        parameters=None if parameters is None else parameters_from(parameters),
        trust=cast("Trust", trust),
        normalise=normalise,
        own=None if own is None else own_liquids_from(own),
        amount_uncertainty=(
            0.0 if amount_uncertainty is None else relative_uncertainty(amount_uncertainty)
        ),
        cup_family=cup_family,
        lookup=lookup,
    )
    if as_json:
        print_json(answer)
        return
    print_facts(
        "Calculated flash point (not a test result)",
        [
            ("at 101.3 kPa", degrees(answer["flash_point_c"])),
            ("interval", f"{answer['low_c']:.1f} to {answer['high_c']:.1f} °C"),
            ("which covers", f"{answer['coverage']:.0%}, nominally"),
            ("the cup shows", degrees(answer.get("cup_flash_point_c"))),
            ("starting temperature", degrees(answer.get("starting_cup_c"))),
            ("liquid phases", answer["liquid_phases"]),
        ],
    )
    print_rows(
        [
            {
                **part,
                "mole_fraction": f"{part['mole_fraction']:.4f}",
                "flash_point_c": degrees(part["flash_point_c"]) or "none",
            }
            for part in answer["components"]
        ],
        [
            ("name", "component"),
            ("cas", "CAS"),
            ("mole_fraction", "mole fraction"),
            ("flash_point_c", "flash point"),
        ],
    )
    print_list("Why", [step["text"] for step in answer["steps"]])
    print_list("Warnings", answer["warnings"])


def correct(
    observed: Annotated[str, typer.Option(help="What the cup showed: “40.5 degC”.")],
    pressure: PressureOption,
    method: MethodOption = None,
    probe_correction: ProbeOption = None,
    step: Annotated[
        str | None, typer.Option(help="Last step of the search: “1 degC” or “0.5 degC”.")
    ] = None,
    limit: Annotated[
        str | None, typer.Option(help="A limit, to see whether rounding decides.")
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Correct an observed cup temperature to 101.3 kPa and round it once."""
    from closedcup.app.usecases.methods.calculating import corrected, typed_correction
    from closedcup.app.usecases.methods.methods_on_record import method_in_use
    from closedcup.quantities import (
        parse_difference,
        parse_limit,
        parse_pressure,
        parse_temperature,
    )

    answer = corrected(
        parse_temperature(observed, where="observed"),
        parse_pressure(pressure),
        method_id=method,
        probe_correction=typed_correction(probe_correction),
        step=None if step is None else parse_difference(step, where="step"),
        limit=None if limit is None else parse_limit(limit),
        lookup=method_in_use,
    )
    if as_json:
        print_json(answer)
        return
    print_facts("Corrected to 101.3 kPa", [("reported", answer["reported_text"])])
    print_list("Steps", answer["steps"])
    print_list("Warnings", answer["warnings"])


def setpoint(
    limit: Annotated[str, typer.Option(help="“<60 degC”, “<=140 degF”, “>=60 degC”.")],
    pressure: PressureOption,
    method: MethodOption = None,
    probe_correction: ProbeOption = None,
    as_json: AsJson = False,
) -> None:
    """Say where to set the cup so that flash or no flash answers a limit."""
    from closedcup.app.usecases.methods.calculating import limit_set_point, typed_correction
    from closedcup.app.usecases.methods.methods_on_record import method_in_use
    from closedcup.quantities import parse_limit, parse_pressure

    answer = limit_set_point(
        parse_limit(limit),
        parse_pressure(pressure),
        method_id=method,
        probe_correction=typed_correction(probe_correction),
        lookup=method_in_use,
    )
    if as_json:
        print_json(answer)
        return
    print_facts(
        f"Set point for {answer['limit']}",
        [("set the cup to", degrees(answer["cup_settable_c"])), ("why", answer["why"])],
    )
    print_list("Steps", answer["steps"])
    print_list("Warnings", answer["warnings"])


def precision(
    method: Annotated[str, typer.Option(help="A method's identifier.")],
    product: Annotated[str | None, typer.Option(help="Kind of product.")] = None,
    at: Annotated[str | None, typer.Option(help="Flash point, corrected: “61 degC”.")] = None,
    result: Annotated[
        list[str] | None, typer.Option(help="A result to compare; once for each.")
    ] = None,
    theirs: Annotated[
        list[str] | None,
        typer.Option(help="A result of another laboratory; once for each: the means are compared."),
    ] = None,
    between_laboratories: Annotated[
        bool, typer.Option("--between-laboratories", help="Compare with R instead of r.")
    ] = False,
    as_json: AsJson = False,
) -> None:
    """Print a method's r and R, and whether results agree."""
    from closedcup.app.usecases.methods.calculating import method_precision
    from closedcup.app.usecases.methods.methods_on_record import method_in_use
    from closedcup.quantities import parse_temperature

    answer = method_precision(
        method,
        product=product,
        at=None if at is None else parse_temperature(at, where="at"),
        results=tuple(parse_temperature(text, where="result") for text in result or ()),
        theirs=tuple(parse_temperature(text, where="theirs") for text in theirs or ()),
        between_laboratories=between_laboratories,
        lookup=method_in_use,
    )
    if as_json:
        print_json(answer)
    else:
        print_facts(
            f"Precision of {answer['method']} for {answer['product']} "
            f"at {answer['at_corrected_c']:g} °C",
            [
                ("repeatability r", degrees(answer["repeatability_c"], 2)),
                ("reproducibility R", degrees(answer["reproducibility_c"], 2)),
                ("difference", degrees(answer.get("difference_c"), 2)),
                ("permitted", degrees(answer.get("limit_c"), 2)),
                ("rule", answer.get("rule")),
                ("agree", None if "agree" not in answer else "yes" if answer["agree"] else "NO"),
                ("note", answer["note"]),
                ("known", ", ".join(dict.fromkeys(one["known"] for one in answer["sources"]))),
                ("parameters", "confirmed" if answer["confirmed"] else "unconfirmed"),
            ],
        )
    if answer.get("agree") is False:
        raise typer.Exit(4)
