"""Commands for what the laboratory asks of its people: authorisation, four eyes, signatures."""

from typing import Annotated, Any

import typer

from closedcup.app.cli.arguments import PersonId, QualificationId, ResultId
from closedcup.app.cli.opened import By, Key, ask_password, opened
from closedcup.app.cli.printing import AsJson, print_facts, print_json, print_rows

_PANEL = "People and rights"


def register(application: typer.Typer) -> None:
    """Add these commands to the command line."""
    application.command(rich_help_panel=_PANEL)(sign)
    application.command("working-rules", rich_help_panel=_PANEL)(working_rules)
    application.command(rich_help_panel=_PANEL)(qualify)
    application.command(rich_help_panel=_PANEL)(qualifications)
    application.command("withdraw-qualification", rich_help_panel=_PANEL)(withdraw_qualification)


def sign(
    result: ResultId,
    meaning: Annotated[
        str | None,
        typer.Option("--as", help="performed, reviewed or approved; without, list signatures."),
    ] = None,
    key: Key = None,
    as_json: AsJson = False,
) -> None:
    """Sign a result with your password; the report shows signatures made before it is issued."""
    from closedcup.app.usecases.people import signing

    with opened() as laboratory:
        if meaning is None:
            answer = signing.signatures_under(laboratory, result)
        else:
            laboratory.permit("result-signed")
            password = ask_password("Password")
            answer = signing.sign_result(laboratory, result, meaning, password, key=key)
    if as_json:
        print_json(answer)
        return
    seal = f"{answer['seal_number']}: {answer['seal']}"
    print_facts(f"Result {result}", [("result", answer["statement"]), ("entry signed", seal)])
    columns = [("meaning", "as"), ("name", "by"), ("signed_at", "at"), ("intact", "intact")]
    print_rows(answer["signatures"], columns)


def working_rules(
    four_eyes: Annotated[
        bool | None,
        typer.Option("--four-eyes/--no-four-eyes", help="Nobody releases the own work."),
    ] = None,
    authorisation: Annotated[
        bool | None,
        typer.Option("--authorisation/--no-authorisation", help="Ask it for each method."),
    ] = None,
    reason: Annotated[str, typer.Option(help="Why the laboratory decides so.")] = "",
    by: By = None,
    key: Key = None,
    as_json: AsJson = False,
) -> None:
    """Show what the laboratory asks of its people, or decide on it."""
    from closedcup.app.usecases.people import working_rules as usecases

    with opened(by) as laboratory:
        if four_eyes is None and authorisation is None:
            answer = usecases.rules_in_force(laboratory)
        else:
            answer = usecases.decide_rules(
                laboratory, four_eyes=four_eyes, authorisation=authorisation, reason=reason, key=key
            )
    if as_json:
        print_json(answer)
        return
    words = {True: "asked for", False: "not asked for"}
    facts = [
        ("four eyes: nobody reviews or releases the own work", words[answer["four_eyes"]]),
        ("authorisation for each method", words[answer["authorisation"]]),
    ]
    print_facts("Working rules", facts)


def qualify(
    person: PersonId,
    method: Annotated[str, typer.Option(help="The method.")],
    until: Annotated[str, typer.Option(help="Until when: 2027-03-02.")],
    evidence: Annotated[str, typer.Option(help="On what grounds, in words.")],
    verification: Annotated[
        list[str] | None,
        typer.Option(help="A verification that the person made, in control; once for each."),
    ] = None,
    by: By = None,
    key: Key = None,
    as_json: AsJson = False,
) -> None:
    """Authorise a person for a method, on evidence."""
    from closedcup.app.usecases.people import qualifying

    with opened(by) as laboratory:
        answer = qualifying.grant(
            laboratory,
            person,
            method,
            until=until,
            evidence=evidence,
            verifications=tuple(verification or ()),
            key=key,
        )
    _print([answer], as_json, one=True)


def qualifications(
    person: Annotated[
        str | None, typer.Argument(metavar="[PERSON]", help="Of this person only.")
    ] = None,
    by: By = None,
    as_json: AsJson = False,
) -> None:
    """List who is authorised for which method, and on what grounds."""
    from closedcup.app.usecases.people import qualifying

    with opened(by) as laboratory:
        answer = qualifying.qualifications(laboratory, person)
    _print(answer, as_json)


def withdraw_qualification(
    qualification: QualificationId,
    reason: Annotated[str, typer.Option(help="Why.")],
    by: By = None,
    key: Key = None,
    as_json: AsJson = False,
) -> None:
    """Withdraw an authorisation; it stays on record."""
    from closedcup.app.usecases.people import qualifying

    with opened(by) as laboratory:
        answer = qualifying.withdraw_qualification(laboratory, qualification, reason, key=key)
    _print([answer], as_json, one=True)


def _print(answers: list[dict[str, Any]], as_json: bool, *, one: bool = False) -> None:
    if as_json:
        print_json(answers[0] if one else answers)
        return
    columns = [
        ("id", "id"),
        ("name", "who"),
        ("method", "method"),
        ("granted_on", "from"),
        ("until", "until"),
        ("granted_by", "granted by"),
        ("state", "state"),
        ("evidence", "evidence"),
    ]
    print_rows(answers, columns)
