"""A method as the laboratory uses it: its data with the laboratory's own confirmations on top."""

from closedcup.laboratory import Series
from closedcup.methods import Method, method, with_confirmations
from closedcup.records.ledger import Ledger


def method_of(ledger: Ledger, identifier: str) -> Method:
    """Return a method with what the laboratory has confirmed so far."""
    chosen = method(identifier)
    return with_confirmations(chosen, ledger.confirmations.get(chosen.id, {}))


def method_of_series(ledger: Ledger, series: Series) -> Method:
    """Return the method as it was confirmed when a series began.

    A number that is confirmed later does not judge anew what was done before.
    """
    chosen = method(ledger.tests[series.test].method)
    return with_confirmations(chosen, ledger.confirmed_at_begin.get(series.id, {}))
