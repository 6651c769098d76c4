"""Sign a result: prove again who one is, and say what the signature means."""

from typing import Any

from closedcup.app.opening import OpenLaboratory
from closedcup.app.usecases.lookup import find
from closedcup.app.usecases.people.four_eyes import performers, refuse_own_work
from closedcup.app.usecases.people.signing_in import prove
from closedcup.errors import Refused
from closedcup.laboratory.signature import Signature, parse_meaning
from closedcup.records import Event
from closedcup.records.ledger import Ledger

Answer = dict[str, Any]


def sign_result(
    opened: OpenLaboratory, result_id: str, meaning: str, password: str, *, key: str | None = None
) -> Answer:
    """Sign a result as performed, reviewed or approved, with one's password.

    What is signed is the result's own entry: its seal is a hash of it and of all before it.
    Signing the same again changes nothing. Refused without an account, for a superseded result,
    as performed by somebody who did not, and where four eyes are asked for by somebody who did.
    """
    if opened.recorded(key) is not None:
        return signatures_under(opened, result_id)
    ledger, meant = opened.permit("result-signed"), parse_meaning(meaning)
    opened.permit(f"sign-{meant}")
    result = find(ledger.results, result_id, "result")
    if not opened.has_accounts:
        raise Refused(
            "accounts-needed",
            "A signature proves who signs, and nobody has an account here.",
            where=f"result {result_id}",
            fix="Begin with a quality lead's: closedcup make-account ID",
        )
    if result_id in ledger.superseded:
        raise Refused(
            "result-superseded",
            f"Result {result_id} is superseded: {ledger.superseded[result_id].reason}",
            where=f"result {result_id}",
            fix="Sign the one that takes its place.",
        )
    if meant != "performed":
        refuse_own_work(ledger, result, opened.by)
    elif opened.by not in performers(ledger, result):
        raise Refused(
            "not-performed",
            f"{opened.name_of(opened.by)} had no hand in result {result_id}.",
            where=f"result {result_id}",
            fix="Sign as reviewed or approved, if that is your part.",
        )
    prove(opened, opened.by, password)
    earlier = ledger.signatures.get(result_id, ())
    if (opened.by, meant) not in {(each.person, each.meaning) for each in earlier}:
        issued = _issued(opened, result_id)
        signature = Signature(
            result=result_id,
            person=opened.by,
            meaning=meant,
            signed_number=issued.seq,
            signed_seal=issued.seal,
            signed_at=opened.clock().isoformat(),
        )
        opened.record("result-signed", result_id, signature, key=key)
    return signatures_under(opened, result_id)


def signatures_under(opened: OpenLaboratory, result_id: str) -> Answer:
    """Return the signatures under a result; `intact` says that it is still what was signed."""
    ledger = opened.state
    result = find(ledger.results, result_id, "result")
    issued = _issued(opened, result_id)
    return {
        "result": result_id,
        "statement": result.statement,
        "seal": issued.seal,
        "seal_number": issued.seq,
        "signatures": [
            {
                "person": each.person,
                "name": opened.name_of(each.person),
                "meaning": each.meaning,
                "signed_at": each.signed_at,
                "intact": (each.signed_number, each.signed_seal) == (issued.seq, issued.seal),
            }
            for each in ledger.signatures.get(result_id, ())
        ],
    }


def signature_facts(ledger: Ledger, result_id: str) -> list[Answer]:
    """Return the signatures under a result as its report states them."""
    return [
        {
            "by": each.person,
            "meaning": each.meaning,
            "signed_at": each.signed_at,
            "seal_number": each.signed_number,
            "seal": each.signed_seal,
        }
        for each in ledger.signatures.get(result_id, ())
    ]


def _issued(opened: OpenLaboratory, result_id: str) -> Event:
    events = opened.store.read(subject=result_id)
    return next(event for event in events if event.type == "result-issued")
