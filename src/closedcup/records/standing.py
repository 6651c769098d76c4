"""Where a sample and its tests stand, and what comes next, as far as they themselves tell.

Whether a released result is in doubt since depends on the whole laboratory and is not told here.
"""

from collections.abc import Sequence
from datetime import date, datetime
from typing import NamedTuple

from closedcup.laboratory import RequestedTest, Sample
from closedcup.laboratory.sample_keeping import (
    HandedOver,
    SampleDisposed,
    entries_of,
    kept_until,
    last_of,
    waits_for_customer,
)
from closedcup.records.ledger import Ledger


class Standing(NamedTuple):
    """The state in the trade's words, and the command that takes it on; empty where none does."""

    state: str
    next: str


DISPOSED = Standing("disposed of", "")


def standing_of_sample(ledger: Ledger, sample: Sample) -> Standing:
    """Return where a sample stands: where its first unfinished test does, unless it is gone."""
    if is_disposed(ledger, sample.id):
        return DISPOSED
    return first_unfinished([standing_of_test(ledger, each) for each in ledger.tests_of(sample.id)])


def is_disposed(ledger: Ledger, sample: str) -> bool:
    """Whether a sample was disposed of."""
    return last_of(ledger.keeping.get(sample, ()), SampleDisposed) is not None


def waits(ledger: Ledger, sample: Sample) -> bool:
    """Whether testing a sample waits for its customer's go-ahead."""
    log = ledger.keeping.get(sample.id, ())
    return waits_for_customer(log, questioned_on_receipt=sample.in_doubt)


def reported_on(ledger: Ledger, sample: str) -> date | None:
    """Return the day of the last report; None while a test has none, or no test was requested."""
    days = []
    for test in ledger.tests_of(sample):
        result = ledger.result_of(test.id)
        report = None if result is None else ledger.report_on(result.id)
        if report is None:
            return None
        days.append(datetime.fromisoformat(report.issued_at).date())
    return max(days, default=None)


def retention_end(ledger: Ledger, sample: Sample) -> date | None:
    """Return the last day on which a sample is kept; None where that is not known yet."""
    return kept_until(sample.keep_until, sample.keep_days, reported_on(ledger, sample.id))


def first_unfinished(tests: Sequence[Standing]) -> Standing:
    """Return where a sample stands whose tests stand so."""
    if not tests:
        return Standing("received", "request a test")
    return next((each for each in tests if each.state != "reported"), Standing("reported", ""))


def standing_of_test(ledger: Ledger, test: RequestedTest) -> Standing:
    """Return where a test stands."""
    result = ledger.result_of(test.id)
    if result is None and _is_waiting(ledger, test):
        return Standing("waits for the customer", f"go-ahead {test.sample}")
    if ledger.plans.get(test.id) is None:
        return Standing("test requested", f"plan {test.id}")
    if result is None:
        return _unfinished(ledger, test)
    release = ledger.releases.get(result.id)
    if ledger.report_on(result.id) is not None:
        return Standing("reported", "")
    if release is not None and release.released:
        return Standing("released", f"report {result.id}")
    return Standing("held", f"release {result.id}")


def _is_waiting(ledger: Ledger, test: RequestedTest) -> bool:
    """Whether a test is not begun because the customer is to be asked first."""
    is_begun = ledger.series_under_way(test.id) is not None
    return not is_begun and waits(ledger, ledger.samples[test.sample])


def _unfinished(ledger: Ledger, test: RequestedTest) -> Standing:
    plan, series = ledger.plans[test.id], ledger.series_under_way(test.id)
    if series is not None:
        return Standing("being tested", f"bench {series.id}")
    if plan.decision == "refuse":
        return Standing("refused by the stop list", "")
    review = ledger.reviews.get(test.id)
    if review is not None and not review.proceed:
        return Standing("refused by the reviewer", "")
    if plan.decision == "named reviewer" and review is None:
        return Standing("waits for a reviewer", f"review {test.id}")
    return Standing("planned", f"begin {test.id}")


def searched_words(case: Ledger, sample_id: str) -> str:
    """Return what a search for a sample looks into, in small letters."""
    sample = case.samples[sample_id]
    words = [sample.id, sample.description, sample.customer, sample.container, sample.kind]
    words += [sample.customer_contact, sample.product, sample.condition, sample.priority]
    words += [*sample.suspected, *sample.hazards]
    for _, moved in entries_of(case.keeping.get(sample_id, ()), HandedOver):
        words += [moved.taker, moved.place]
    words += [part.name for part in sample.composition.components]
    for test in case.tests.values():
        words += [test.id, test.method, str(test.limit or "")]
    for series in case.series.values():
        words += [series.id, series.apparatus, series.analyst]
    for result in case.results.values():
        words += [result.id, result.statement]
    return " ".join([*words, *case.reports]).casefold()
