"""Where the laboratory asks for four eyes: nobody reviews or releases what they performed."""

from closedcup.errors import Refused
from closedcup.laboratory import Result
from closedcup.records.ledger import Ledger


def performers(ledger: Ledger, result: Result) -> frozenset[str]:
    """Return who performed what a result rests on: began it, saw it, entered it, issued it."""
    series = ledger.series[result.series]
    seen = {recorded.by for recorded in series.moves}
    entered = {recorded.entered_by for recorded in series.moves}
    return frozenset(seen | entered | {series.analyst, ledger.issued_at[result.id][1]})


def refuse_own_work(ledger: Ledger, result: Result, person: str) -> None:
    """Raise Refused where four eyes are asked for and the person had a hand in the result."""
    if ledger.rules.four_eyes and person in performers(ledger, result):
        raise Refused(
            "four-eyes",
            f"You had a hand in result {result.id}: this laboratory asks for another pair of eyes.",
            where=f"result {result.id}",
            fix="Ask somebody who took no part in it.",
        )
