"""Commands for reference materials, and for how often an apparatus is verified with them."""

from dataclasses import asdict
from decimal import Decimal
from typing import Annotated, Any

import typer

from closedcup.app.cli.opened import By, Key, opened
from closedcup.app.cli.printing import AsJson, print_facts, print_json, print_list, print_rows

_PANEL = "Apparatus and methods"


def register(application: typer.Typer) -> None:
    """Add these commands to the command line."""
    application.command("reference-material", rich_help_panel=_PANEL)(reference_material)
    application.command("open-material", rich_help_panel=_PANEL)(open_material)
    application.command("materials", rich_help_panel=_PANEL)(materials)
    application.command("verification-interval", rich_help_panel=_PANEL)(verification_interval)


def reference_material(
    identifier: Annotated[str, typer.Argument(metavar="ID", help="An id for its bottle: “RM-1”.")],
    liquid: Annotated[str, typer.Option(help="Which liquid.")],
    lot: Annotated[str, typer.Option(help="Its lot.")],
    method: Annotated[str, typer.Option(help="The method that its value belongs to.")],
    value: Annotated[str, typer.Option(help="Certified value: “49.7 degC”.")],
    certificate: Annotated[str, typer.Option(help="Certificate number.")],
    expires: Annotated[str, typer.Option(help="Use before: 2027-06-30.")],
    edition: Annotated[
        str, typer.Option(help="Edition of the method, as the certificate names it.")
    ] = "",
    uncertainty: Annotated[
        str | None, typer.Option(help="The certificate's expanded uncertainty: “0.6 degC”.")
    ] = None,
    use_within: Annotated[
        int | None, typer.Option(min=1, help="Days that it may be used once its bottle is open.")
    ] = None,
    by: By = None,
    key: Key = None,
    as_json: AsJson = False,
) -> None:
    """Take a certified reference material into stock."""
    from closedcup.app.usecases.apparatus import establishing, reference_materials
    from closedcup.laboratory import ReferenceMaterial
    from closedcup.quantities import parse_difference, parse_temperature

    material = ReferenceMaterial(
        id=identifier,
        liquid=liquid,
        lot=lot,
        method=method,
        value_c=Decimal(repr(parse_temperature(value, where="value").c)),
        certificate=certificate,
        expires_on=expires,
        expanded_uncertainty_c=None
        if uncertainty is None
        else Decimal(repr(parse_difference(uncertainty, where="uncertainty").c)),
        edition=edition,
        use_within_days=use_within,
    )
    with opened(by) as laboratory:
        establishing.receive_reference_material(laboratory, material, key=key)
        answer = reference_materials.standing_of(laboratory, identifier)
    _print_material(answer, "Reference material received", as_json)


def open_material(
    identifier: Annotated[
        str, typer.Argument(metavar="ID", help="The bottle's id: closedcup materials.")
    ],
    on: Annotated[str | None, typer.Option(help="2026-03-02; today unless given.")] = None,
    by: By = None,
    key: Key = None,
    as_json: AsJson = False,
) -> None:
    """Record that a bottle of a reference material was opened."""
    from closedcup.app.usecases.apparatus import reference_materials

    with opened(by) as laboratory:
        answer = reference_materials.open_bottle(laboratory, identifier, on, key=key)
    _print_material(answer, "Bottle opened", as_json)


def _print_material(answer: dict[str, Any], title: str, as_json: bool) -> None:
    if as_json:
        print_json(answer | {"id": answer["material"]})
        return
    shown = {name: value for name, value in answer.items() if name not in {"warnings", "in_date"}}
    print_facts(title, [(name.replace("_", " "), value) for name, value in shown.items()])
    print_list("Warnings", answer["warnings"])


def materials(as_json: AsJson = False) -> None:
    """List the reference materials, and until when each may be used."""
    from closedcup.app.usecases.apparatus import reference_materials

    with opened() as laboratory:
        listed = reference_materials.in_stock(laboratory)
    if as_json:
        print_json(listed)
        return
    print_rows(
        [{**one, "state": "in date" if one["in_date"] else "NOT to be used"} for one in listed],
        [
            ("material", "material"),
            ("lot", "lot"),
            ("method", "method"),
            ("value_c", "°C"),
            ("expanded_uncertainty_c", "U, °C"),
            ("opened_on", "opened"),
            ("use_by", "use by"),
            ("state", "state"),
        ],
    )
    print_list("Warnings", [words for one in listed for words in one["warnings"]])


def verification_interval(
    days: Annotated[
        int | None, typer.Argument(help="Days that a verification speaks for; 0: no interval.")
    ] = None,
    reason: Annotated[str, typer.Option(help="Why this interval.")] = "",
    apparatus: Annotated[
        str, typer.Option(help="Of this apparatus; else of all that have none of their own.")
    ] = "",
    by: By = None,
    key: Key = None,
    as_json: AsJson = False,
) -> None:
    """Decide how often an apparatus is verified; alone, show what falls due when."""
    from closedcup.app.usecases.apparatus import verification_due
    from closedcup.app.usecases.desk import overview

    with opened(by) as laboratory:
        if days is not None:
            decided = verification_due.decide_interval(
                laboratory, days or None, reason, apparatus_id=apparatus, key=key
            )
        listed = overview.apparatus_states(laboratory)
    if as_json:
        print_json(listed if days is None else asdict(decided))
        return
    print_rows(
        [
            {
                **one,
                "overdue": "OVERDUE" if one["overdue"] else "",
                "verified_at": (one["verified_at"] or "never")[:10],
            }
            for one in listed
        ],
        [
            ("apparatus", "apparatus"),
            ("method", "method"),
            ("state", "state"),
            ("verified_at", "last verified"),
            ("due_on", "due"),
            ("overdue", ""),
        ],
    )
