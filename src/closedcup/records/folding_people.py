"""How each kind of event about people changes the ledger: roles, accounts, rules, authorisation."""

from collections.abc import Callable
from typing import Final

from closedcup.laboratory.people import AccountChange, Person, RoleChange
from closedcup.laboratory.qualification import Qualification, QualificationWithdrawn
from closedcup.laboratory.signature import Signature
from closedcup.laboratory.working_rules import WorkingRules
from closedcup.records.encoding import from_body
from closedcup.records.events import Event
from closedcup.records.ledger import Ledger


def _register(ledger: Ledger, event: Event) -> None:
    person = from_body(Person, event.body)
    ledger.people[event.subject] = person
    ledger.roles[event.subject] = frozenset({person.role})


def _give_role(ledger: Ledger, event: Event) -> None:
    change = from_body(RoleChange, event.body)
    ledger.roles[change.person] = ledger.roles.get(change.person, frozenset()) | {change.role}


def _take_role(ledger: Ledger, event: Event) -> None:
    change = from_body(RoleChange, event.body)
    ledger.roles[change.person] = ledger.roles.get(change.person, frozenset()) - {change.role}


def _account(*, active: bool) -> Callable[[Ledger, Event], None]:
    def apply(ledger: Ledger, event: Event) -> None:
        ledger.accounts[from_body(AccountChange, event.body).person] = active

    return apply


def _outside(_ledger: Ledger, event: Event) -> None:
    from_body(AccountChange, event.body)  # it lives outside the chain: only that it was done


def _decide_rules(ledger: Ledger, event: Event) -> None:
    ledger.rules = from_body(WorkingRules, event.body)


def _qualify(ledger: Ledger, event: Event) -> None:
    ledger.qualifications[event.subject] = from_body(Qualification, event.body)


def _withdraw(ledger: Ledger, event: Event) -> None:
    withdrawn = from_body(QualificationWithdrawn, event.body)
    ledger.withdrawn[withdrawn.qualification] = withdrawn


def _sign(ledger: Ledger, event: Event) -> None:
    earlier = ledger.signatures.get(event.subject, ())
    ledger.signatures[event.subject] = (*earlier, from_body(Signature, event.body))


PEOPLE_APPLIERS: Final[dict[str, Callable[[Ledger, Event], None]]] = {
    "person-registered": _register,
    "name-erased": _outside,
    "role-given": _give_role,
    "role-taken": _take_role,
    "account-made": _account(active=True),
    "account-disabled": _account(active=False),
    "account-enabled": _account(active=True),
    "account-recovered": _account(active=True),
    "password-given": _outside,
    "password-changed": _outside,
    "working-rules-decided": _decide_rules,
    "qualification-granted": _qualify,
    "qualification-withdrawn": _withdraw,
    "result-signed": _sign,
}
