"""Accounts and roles: made, disabled, given and taken by a quality lead; never deleted."""

from datetime import UTC, datetime
from typing import Any

from closedcup.app.opening import OpenLaboratory
from closedcup.app.usecases.lookup import find
from closedcup.app.usecases.people import passwords
from closedcup.app.usecases.people.signing_in import known_words
from closedcup.app.usecases.reasons import in_words
from closedcup.errors import InputError, Refused
from closedcup.laboratory.people import QUALITY_LEAD, ROLES, AccountChange, RoleChange, parse_role
from closedcup.records.access import Credential
from closedcup.records.access_rules import access_rules
from closedcup.records.ledger import Ledger

Answer = dict[str, Any]
CONSOLE = "console"
"""Bears an entry made by whoever holds the records themselves: no person was proven."""


def make_account(
    opened: OpenLaboratory, person: str, *, password: str | None = None, key: str | None = None
) -> Answer:
    """Make an account for a registered person; from the first one on, everybody signs in.

    The first is a quality lead's, who chooses the password. Later ones start with a random
    password to hand over, which is told once.
    """
    if opened.recorded(key) is not None:
        return _told(opened, opened.state, person, "")
    ledger = opened.permit("account-made")
    find(ledger.people, person, "person")
    if person in ledger.accounts:
        raise InputError(
            "account-exists",
            f"{person} has an account already.",
            where=f"account {person}",
            fix="A lost password is replaced with: closedcup new-password. A disabled account is "
            "opened again with: closedcup enable-account",
        )
    if not ledger.accounts and QUALITY_LEAD not in ledger.roles[person]:
        raise Refused(
            "first-account",
            f"{person} is no quality lead, so nobody could make the other accounts.",
            where=f"account {person}",
            fix=f"Begin with a quality lead, or: closedcup roles {person} --give “{QUALITY_LEAD}”",
        )
    if not ledger.accounts and password is None:
        raise InputError("password-missing", "The first account needs a password.", where="account")
    start = _give(opened, person, password)
    opened.record("account-made", person, AccountChange(person), key=key)
    return {**_told(opened, ledger, person, start), "account": "active"}


def give_password(opened: OpenLaboratory, person: str) -> Answer:
    """Give a person a random password in place of a lost one; told once, replaced at sign-in."""
    ledger = opened.permit("password-given")
    find(ledger.accounts, person, "account")
    start = _give(opened, person, None)
    opened.store.access.end_sessions(person)
    opened.record("password-given", person, AccountChange(person))
    return _told(opened, ledger, person, start)


def recover_account(opened: OpenLaboratory, person: str, password: str) -> Answer:
    """Get an account back without signing in: for whoever holds the records themselves.

    It may be used again with this password. The entry bears “console”: nobody was proven.
    """
    opened.by, opened.at_console = CONSOLE, True
    ledger = opened.state
    find(ledger.accounts, person, "account")
    _give(opened, person, password)
    opened.store.access.end_sessions(person)
    opened.record("account-recovered", person, AccountChange(person, recovered=True))
    return _told(opened, opened.state, person, "")


def disable_account(
    opened: OpenLaboratory, person: str, reason: str, *, key: str | None = None
) -> Answer:
    """Disable an account: its sessions end at once; what the person did stays on record."""
    ledger = opened.permit("account-disabled")
    find(ledger.accounts, person, "account")
    said = in_words(reason, "reason")
    if ledger.accounts[person]:
        _refuse_last_lead(ledger, person)
        opened.record("account-disabled", person, AccountChange(person), key=key, reason=said)
        opened.store.access.end_sessions(person)
    return {**_told(opened, ledger, person, ""), "account": "disabled"}


def enable_account(
    opened: OpenLaboratory, person: str, reason: str, *, key: str | None = None
) -> Answer:
    """Open a disabled account again, with its password."""
    ledger = opened.permit("account-enabled")
    find(ledger.accounts, person, "account")
    said = in_words(reason, "reason")
    if not ledger.accounts[person]:
        opened.record("account-enabled", person, AccountChange(person), key=key, reason=said)
    return {**_told(opened, ledger, person, ""), "account": "active"}


def give_role(
    opened: OpenLaboratory, person: str, role: str, reason: str, *, key: str | None = None
) -> Answer:
    """Give a person a role; what it allows holds at once."""
    ledger = opened.permit("role-given")
    find(ledger.people, person, "person")
    given, said = parse_role(role), in_words(reason, "reason")
    if given not in ledger.roles[person]:
        opened.record("role-given", person, RoleChange(person, given), key=key, reason=said)
    held = _of(ledger, person) | {given}
    return {**_told(opened, ledger, person, ""), "roles": _in_order(held)}


def take_role(
    opened: OpenLaboratory, person: str, role: str, reason: str, *, key: str | None = None
) -> Answer:
    """Take a role from a person; what it allowed is refused at once."""
    ledger = opened.permit("role-taken")
    find(ledger.people, person, "person")
    taken, said = parse_role(role), in_words(reason, "reason")
    if taken in ledger.roles[person]:
        if taken == QUALITY_LEAD:
            _refuse_last_lead(ledger, person)
        opened.record("role-taken", person, RoleChange(person, taken), key=key, reason=said)
    held = _of(ledger, person) - {taken}
    return {**_told(opened, ledger, person, ""), "roles": _in_order(held)}


def people_and_accounts(opened: OpenLaboratory) -> list[Answer]:
    """Return everybody on record with roles and account."""
    ledger = opened.permit("accounts-read")
    return [_told(opened, ledger, person, "") for person in ledger.people]


def sign_ins(opened: OpenLaboratory, most: int = 50) -> list[Answer]:
    """Return the last attempts to sign in or to sign, the newest first."""
    opened.permit("accounts-read")
    return [
        {"at": each.at, "person": each.person or None, "outcome": each.outcome}
        for each in opened.store.access.noted(most)
    ]


def _refuse_last_lead(ledger: Ledger, person: str) -> None:
    """Refuse to leave a laboratory with accounts without anybody who may look after them."""
    leads = {
        each
        for each, active in ledger.accounts.items()
        if active and QUALITY_LEAD in _of(ledger, each)
    }
    if leads == {person}:
        raise Refused(
            "last-quality-lead",
            f"{person} is the last quality lead with an account.",
            where=f"account {person}",
            fix="Give another person that role and an account first.",
        )


def _of(ledger: Ledger, person: str) -> frozenset[str]:
    return ledger.roles.get(person, frozenset())


def _in_order(held: frozenset[str]) -> list[str]:
    return [role for role in ROLES if role in held]


def _give(opened: OpenLaboratory, person: str, password: str | None) -> str:
    """Keep a password, a random one unless given; return the random one."""
    start = "" if password is not None else passwords.start_password()
    if password is not None:
        passwords.refuse_weak(password, known=known_words(opened, person))
    now = _utc(opened.clock())
    kept = passwords.hash_of(password if password is not None else start)
    opened.store.access.set_password(Credential(person, kept, now, temporary=int(bool(start))))
    return start


def _told(opened: OpenLaboratory, ledger: Ledger, person: str, start: str) -> Answer:
    account = ledger.accounts.get(person)
    state = "none" if account is None else "active" if account else "disabled"
    credential, now = opened.store.access.credential(person), _utc(opened.clock())
    locked = "" if credential is None else credential.locked_until
    return {
        "person": person,
        "name": opened.name_of(person),
        "roles": _in_order(_of(ledger, person)),
        "account": state,
        "locked_until": locked if locked > now else None,
        "start_password": start or None,
        "start_password_days": access_rules().temporary_days if start else None,
    }


def _utc(moment: datetime) -> str:
    return moment.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")
