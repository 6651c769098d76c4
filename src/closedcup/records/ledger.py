"""What the records say now: the state of the laboratory, which is a fold of its events.

`Ledger` is that state and what can be asked of it; `records.folding` makes it. Nothing here is
stored: drop it and fold again.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field

from closedcup.laboratory import (
    Apparatus,
    ApparatusState,
    AssignedCause,
    CorrectiveAction,
    DecidedLimits,
    Dispute,
    DisputeSettled,
    Evidence,
    Hold,
    HoldLifted,
    Person,
    ProbeCheck,
    ReferenceMaterial,
    RequestedTest,
    Result,
    Sample,
    Series,
    ServiceAnswer,
    ServiceRecord,
    Site,
    Supersession,
    SystemFailure,
    Verification,
    state_of,
)
from closedcup.laboratory.day import CloseDown, DayCard
from closedcup.methods import Confirmation, Method
from closedcup.methods import method as find_method
from closedcup.records.facts import (
    Classified,
    HazardReview,
    IssuedReport,
    KeptFile,
    Plan,
    Release,
    TraceMapping,
)


@dataclass
class Ledger:
    """The laboratory as its records tell it, up to event `seq`."""

    seq: int = 0
    site: Site | None = None
    people: dict[str, Person] = field(default_factory=dict)
    apparatus: dict[str, Apparatus] = field(default_factory=dict)
    service: dict[str, ServiceRecord] = field(default_factory=dict)
    service_answers: dict[str, tuple[ServiceAnswer, ...]] = field(default_factory=dict)
    day_cards: dict[tuple[str, str], DayCard] = field(default_factory=dict)
    """By apparatus and day."""
    closed_down: dict[tuple[str, str], CloseDown] = field(default_factory=dict)
    probes: dict[str, ProbeCheck] = field(default_factory=dict)
    materials: dict[str, ReferenceMaterial] = field(default_factory=dict)
    verifications: dict[str, tuple[Verification, ...]] = field(default_factory=dict)
    causes: dict[str, AssignedCause] = field(default_factory=dict)
    chart_limits: dict[tuple[str, str], tuple[DecidedLimits, str]] = field(default_factory=dict)
    """By apparatus and designation of the method: the limits last decided on, and when."""
    samples: dict[str, Sample] = field(default_factory=dict)
    evidence: dict[str, tuple[Evidence, ...]] = field(default_factory=dict)
    tests: dict[str, RequestedTest] = field(default_factory=dict)
    plans: dict[str, Plan] = field(default_factory=dict)
    reviews: dict[str, HazardReview] = field(default_factory=dict)
    series: dict[str, Series] = field(default_factory=dict)
    results: dict[str, Result] = field(default_factory=dict)
    issued_at: dict[str, tuple[str, str]] = field(default_factory=dict)
    releases: dict[str, Release] = field(default_factory=dict)
    classified: dict[str, Classified] = field(default_factory=dict)
    files: dict[str, tuple[KeptFile, ...]] = field(default_factory=dict)
    trace_mappings: dict[str, TraceMapping] = field(default_factory=dict)
    """By apparatus: how its files were last read."""
    reports: dict[str, IssuedReport] = field(default_factory=dict)
    superseded: dict[str, Supersession] = field(default_factory=dict)
    """By the result that no longer counts."""
    holds: dict[str, Hold] = field(default_factory=dict)
    lifted: dict[str, HoldLifted] = field(default_factory=dict)
    """By hold."""
    stands: dict[str, frozenset[str]] = field(default_factory=dict)
    """By result: the holds that it was reviewed against and stands."""
    disputes: dict[str, Dispute] = field(default_factory=dict)
    settled: dict[str, DisputeSettled] = field(default_factory=dict)
    """By dispute."""
    failures: dict[str, SystemFailure] = field(default_factory=dict)
    corrective: dict[str, tuple[CorrectiveAction, ...]] = field(default_factory=dict)
    """By failure."""
    confirmations: dict[str, Mapping[str, Confirmation]] = field(default_factory=dict)
    """By method and name of the number."""
    confirmed_at_begin: dict[str, Mapping[str, Confirmation]] = field(default_factory=dict)
    """By series: what was confirmed of its method when it began."""
    unread: set[str] = field(default_factory=set)
    """Kinds of event that this version does not know, so that a page can say so."""

    def apparatus_state(self, apparatus: str, method: str) -> ApparatusState:
        """Return the state of an apparatus for one method."""
        return state_of(self.service.get(apparatus), self.verifications_for(apparatus, method))

    def verifications_for(self, apparatus: str, method: str) -> tuple[Verification, ...]:
        """Return the verifications that speak for a method, in order.

        One made with any procedure of the same published method does: the cup and its scale are
        the same. Another method's does not.
        """
        wanted = find_method(method)
        return tuple(
            each
            for each in self.verifications.get(apparatus, ())
            if _is_same(find_method(each.method), wanted)
        )

    def tests_of(self, sample: str) -> tuple[RequestedTest, ...]:
        """Return the tests requested on a sample, in order."""
        return tuple(test for test in self.tests.values() if test.sample == sample)

    def series_of(self, test: str) -> tuple[Series, ...]:
        """Return the series begun for a test, in order."""
        return tuple(series for series in self.series.values() if series.test == test)

    def results_of(self, test: str) -> tuple[Result, ...]:
        """Return every result issued for a test, in order; the last one may be in force."""
        return tuple(result for result in self.results.values() if result.test == test)

    def result_of(self, test: str) -> Result | None:
        """Return the result in force of a test: the last one issued, unless it was superseded."""
        found = self.results_of(test)
        return found[-1] if found and found[-1].id not in self.superseded else None

    def series_under_way(self, test: str) -> Series | None:
        """Return the last series of a test, if no result was issued from it."""
        series = self.series_of(test)
        used = {result.series for result in self.results_of(test)}
        return series[-1] if series and series[-1].id not in used else None

    def report_on(self, result: str) -> IssuedReport | None:
        """Return the last report issued on a result."""
        found = [report for report in self.reports.values() if report.result == result]
        return found[-1] if found else None

    def replaced_by(self, report: str) -> str | None:
        """Return the number of the report that replaces a report."""
        return next(
            (each.number for each in self.reports.values() if each.replaces == report), None
        )


def _is_same(one: Method, other: Method) -> bool:
    return (one.designation, one.procedure) == (other.designation, other.procedure)
