"""What is unfinished, and what was lately made at an apparatus, without looking at every sample."""

from collections.abc import Iterator
from datetime import timedelta
from typing import Final

from closedcup.app.opening import OpenLaboratory
from closedcup.laboratory import RequestedTest, Series
from closedcup.records.projections import SampleQuery

_UNFINISHED: Final = (
    "test requested",
    "planned",
    "being tested",
    "waits for a reviewer",
    "waits for the customer",
    "refused by the reviewer",
    "refused by the stop list",
    "held",
    "released",
)
_LATELY: Final = timedelta(days=90)


def tests_without_result(opened: OpenLaboratory) -> list[RequestedTest]:
    """Return the tests that have no result in force, in the order in which samples came."""
    ledger = opened.state
    rows = opened.sample_rows(SampleQuery(states=_UNFINISHED))
    return [
        test
        for row in reversed(rows)
        for test in ledger.tests_of(row.sample)
        if ledger.result_of(test.id) is None
    ]


def series_lately(opened: OpenLaboratory, apparatus: str) -> Iterator[Series]:
    """Yield the series made at an apparatus in the last 90 days, finished ones first."""
    ledger = opened.state
    since = (opened.clock() - _LATELY).isoformat()
    seen: set[str] = set()
    for result in ledger.results_issued(apparatus=apparatus, since=since):
        if result.series not in seen:
            seen.add(result.series)
            yield ledger.series[result.series]
    for test in tests_without_result(opened):
        for series in ledger.series_of(test.id):
            if series.apparatus == apparatus and series.id not in seen:
                yield series
