"""Whether a person may do something, once a laboratory has accounts; asked by `app.opening`."""

from typing import Final

from closedcup.errors import Refused
from closedcup.laboratory.rights import permitted, rights, roles_with
from closedcup.records.ledger import Ledger

CONSOLE_RIGHTS: Final = frozenset(
    {
        "records-read",
        "account-recovered",
        "backup-taken",
        "restore-rehearsed",
        "system-failure-noted",
    }
)
"""What whoever holds the records themselves may do without signing in."""


def refuse_unless_permitted(ledger: Ledger, person: str, right: str, *, signed_in: bool) -> None:
    """Raise Refused for somebody who is not signed in, is disabled, or has no role for this."""
    if not signed_in:
        raise sign_in_needed()
    if not ledger.accounts.get(person, False):
        raise Refused(
            "account-disabled",
            "This account is disabled.",
            where=f"account {person}",
            fix="A quality lead can enable it again.",
        )
    held = ledger.roles.get(person, frozenset())
    if not permitted(held, right):
        known = rights().get(right)
        what = right.replace("-", " ") if known is None else known.what
        may = roles_with(right)
        raise Refused(
            "right-missing",
            f"To {what} is not among your rights ({', '.join(sorted(held)) or 'no role'}).",
            where=f"account {person}",
            fix=f"It takes the role {' or '.join(may)}." if may else "No role has this right.",
        )


def sign_in_needed() -> Refused:
    """Return what is said to somebody who has not signed in, or whose session ended."""
    return Refused(
        "sign-in-needed",
        "This laboratory has accounts: sign in first.",
        where="account",
        fix="On the command line: closedcup sign-in ID",
    )
