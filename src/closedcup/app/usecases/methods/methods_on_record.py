"""A method as the laboratory uses it: its data with the laboratory's own confirmations on top."""

import os
from collections.abc import Callable, Mapping
from functools import partial

from closedcup.app.opening import open_laboratory
from closedcup.laboratory import Series
from closedcup.methods import Confirmation, Method, method, with_confirmations
from closedcup.records.ledger import Ledger
from closedcup.records.location import default_url, records_are_there

MethodLookup = Callable[[str], Method]
"""How a method is found by its identifier."""
_Confirmations = Mapping[str, Mapping[str, Confirmation]]


def methods_in_use() -> MethodLookup:
    """Return how methods are found here: with what the laboratory on record has confirmed.

    Where there are no records yet, as published; none are made by asking.
    """
    if not records_are_there(os.environ.get("CLOSEDCUP_DATABASE") or default_url()):
        return method
    with open_laboratory() as opened:
        return partial(_as_confirmed, dict(opened.confirmations))


def method_in_use(identifier: str) -> Method:
    """Return a method as the laboratory on record has confirmed it."""
    return methods_in_use()(identifier)


def _as_confirmed(confirmations: _Confirmations, identifier: str) -> Method:
    chosen = method(identifier)
    return with_confirmations(chosen, confirmations.get(chosen.id, {}))


def method_of(ledger: Ledger, identifier: str) -> Method:
    """Return a method with what the laboratory has confirmed so far."""
    return _as_confirmed(ledger.confirmations, identifier)


def method_of_test(ledger: Ledger, test_id: str) -> Method:
    """Return the method of a test as its last series uses it, else as it is confirmed now."""
    series = ledger.series_of(test_id)
    if series:
        return method_of_series(ledger, series[-1])
    return method_of(ledger, ledger.tests[test_id].method)


def method_of_series(ledger: Ledger, series: Series) -> Method:
    """Return the method as it was confirmed when a series began.

    A number that is confirmed later does not judge anew what was done before.
    """
    chosen = method(ledger.tests[series.test].method)
    return with_confirmations(chosen, ledger.confirmed_at_begin.get(series.id, {}))
