"""Commands for accounts: sign in and out, who has an account and which roles."""

from typing import Annotated, Any

import typer

from closedcup.app.cli.arguments import PersonId
from closedcup.app.cli.opened import Key, ask_password, opened
from closedcup.app.cli.printing import AsJson, print_facts, print_json, print_rows
from closedcup.errors import Refused

_PANEL = "People and rights"
_Reason = Annotated[str, typer.Option(help="Why; kept with the entry.")]


def register(application: typer.Typer) -> None:
    """Add these commands to the command line."""
    for name, command in (
        ("sign-in", sign_in),
        ("sign-out", sign_out),
        ("accounts", accounts),
        ("make-account", make_account),
        ("roles", roles),
        ("new-password", new_password),
        ("disable-account", disable_account),
        ("enable-account", enable_account),
        ("recover-account", recover_account),
    ):
        application.command(name, rich_help_panel=_PANEL)(command)


def sign_in(person: PersonId, as_json: AsJson = False) -> None:
    """Sign in where the laboratory has accounts; the password is asked, or read from a pipe."""
    from closedcup.app.cli.session_file import keep_token, token_for
    from closedcup.app.usecases.people import signing_in

    with opened() as laboratory:
        place, password = laboratory.store.place, ask_password("Password")
        ends = token_for(place)
        try:
            token = signing_in.sign_in(laboratory, person, password, ends=ends)
        except Refused as refused:
            if refused.kind != "new-password-needed":
                raise
            typer.echo(refused.what, err=True)
            new = ask_password("New password", twice=True)
            token = signing_in.sign_in(laboratory, person, password, new_password=new, ends=ends)
        file = keep_token(place, token)
        held = sorted(laboratory.state.roles[person])
        name = laboratory.name_of(person)
    if as_json:
        print_json({"person": person, "name": name, "roles": held, "session_file": str(file)})
    else:
        print_facts("Signed in", [("person", name), ("roles", ", ".join(held))])


def sign_out(as_json: AsJson = False) -> None:
    """End the session of this command line."""
    from closedcup.app.cli.session_file import drop_token, token_for
    from closedcup.app.usecases.people import signing_in

    with opened() as laboratory:
        place = laboratory.store.place
        signing_in.sign_out(laboratory, token_for(place))
        drop_token(place)
    if as_json:
        print_json({"signed_in": False})
    else:
        print_facts("Signed out", [])


def accounts(
    attempts: Annotated[bool, typer.Option("--sign-ins", help="The last sign-ins too.")] = False,
    as_json: AsJson = False,
) -> None:
    """List everybody with roles and account."""
    from closedcup.app.usecases.people import accounts as usecases

    with opened() as laboratory:
        people = usecases.people_and_accounts(laboratory)
        noted = usecases.sign_ins(laboratory) if attempts else []
    if as_json:
        print_json({"people": people, "sign_ins": noted} if attempts else people)
        return
    shown = [{**each, "roles": ", ".join(each["roles"])} for each in people]
    columns = [("person", "id"), ("name", "name"), ("roles", "roles"), ("account", "account")]
    if any(each["locked_until"] for each in people):
        columns.append(("locked_until", "locked until (UTC)"))
    print_rows(shown, columns)
    if attempts:
        print_rows(noted, [("at", "at (UTC)"), ("person", "account"), ("outcome", "outcome")])


def make_account(person: PersonId, key: Key = None, as_json: AsJson = False) -> None:
    """Make an account for a registered person; the first one is a quality lead's.

    From then on everybody signs in. For the first one a password is asked; each later one gets a
    random one to hand over, which is shown once.
    """
    from closedcup.app.usecases.people import accounts as usecases

    with opened() as laboratory:
        password = None if laboratory.has_accounts else ask_password("Password", twice=True)
        answer = usecases.make_account(laboratory, person, password=password, key=key)
    _print(answer, "Account made", as_json)


def new_password(
    person: Annotated[
        str | None, typer.Argument(metavar="[PERSON]", help="Whose was lost; without, your own.")
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Change your own password, or give somebody who lost theirs a new one."""
    from closedcup.app.cli.session_file import token_for
    from closedcup.app.usecases.people import accounts as usecases
    from closedcup.app.usecases.people import signing_in

    with opened() as laboratory:
        if person is not None:
            _print(usecases.give_password(laboratory, person), "Password given", as_json)
            return
        laboratory.permit("password-changed")
        old, new = ask_password("Password now"), ask_password("New password", twice=True)
        signing_in.change_password(laboratory, token_for(laboratory.store.place), old, new)
    if as_json:
        print_json({"changed": True})
    else:
        print_facts("Password changed; your other sessions have ended", [])


def roles(
    person: PersonId,
    reason: _Reason,
    give: Annotated[list[str] | None, typer.Option(help="A role to give.")] = None,
    take: Annotated[list[str] | None, typer.Option(help="A role to take.")] = None,
    as_json: AsJson = False,
) -> None:
    """Give and take roles: analyst, reviewer, quality lead, specialist, reader."""
    from closedcup.app.usecases.people import accounts as usecases
    from closedcup.errors import InputError

    if not give and not take:
        raise InputError(
            "role-missing", "No role is named.", where="roles", fix="Give --give ROLE."
        )
    answer: dict[str, Any] = {}
    with opened() as laboratory:
        for role in give or ():
            answer = usecases.give_role(laboratory, person, role, reason)
        for role in take or ():
            answer = usecases.take_role(laboratory, person, role, reason)
    _print(answer, "Roles", as_json)


def disable_account(person: PersonId, reason: _Reason, as_json: AsJson = False) -> None:
    """Disable an account at once; it is never deleted."""
    from closedcup.app.usecases.people import accounts as usecases

    with opened() as laboratory:
        _print(usecases.disable_account(laboratory, person, reason), "Account disabled", as_json)


def enable_account(person: PersonId, reason: _Reason, as_json: AsJson = False) -> None:
    """Open a disabled account again."""
    from closedcup.app.usecases.people import accounts as usecases

    with opened() as laboratory:
        _print(usecases.enable_account(laboratory, person, reason), "Account enabled", as_json)


def recover_account(person: PersonId, as_json: AsJson = False) -> None:
    """Get an account back without signing in, where you hold the records themselves.

    The history says that it was done at the console.
    """
    from closedcup.app.usecases.people import accounts as usecases

    with opened() as laboratory:
        password = ask_password("New password", twice=True)
        answer = usecases.recover_account(laboratory, person, password)
    _print(answer, "Account got back", as_json)


def _print(answer: dict[str, Any], title: str, as_json: bool) -> None:
    if as_json:
        print_json(answer)
        return
    facts = [
        ("person", f"{answer['name']} ({answer['person']})"),
        ("roles", ", ".join(answer["roles"])),
        ("account", answer["account"]),
        ("password to hand over, shown once", answer["start_password"]),
        ("can be used for", answer["start_password"] and f"{answer['start_password_days']} days"),
    ]
    print_facts(title, facts)
