"""What the records say now: every state of the laboratory is a fold of its events.

`Ledger` is the folded state; `apply` adds one event to it. Nothing here is stored: drop it and
fold again.
"""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, replace
from typing import Any, Final

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
    Reading,
    RecordedMove,
    ReferenceMaterial,
    RequestedTest,
    Result,
    ResultStands,
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
from closedcup.methods import (
    Confirmation,
    CupSet,
    DeviationNoted,
    IgniterApplied,
    Method,
    MoveWithdrawn,
    RampStarted,
    RateChecked,
    SpecimenLoaded,
)
from closedcup.methods import method as find_method
from closedcup.records.encoding import from_body
from closedcup.records.events import Event
from closedcup.records.facts import (
    Classified,
    HazardReview,
    IssuedReport,
    KeptFile,
    Plan,
    Release,
    TraceMapping,
)

_MOVE_OF_EVENT: Final[dict[str, type]] = {
    "cup-set": CupSet,
    "specimen-loaded": SpecimenLoaded,
    "ramp-started": RampStarted,
    "rate-checked": RateChecked,
    "igniter-applied": IgniterApplied,
    "entry-withdrawn": MoveWithdrawn,
    "deviation-noted": DeviationNoted,
}
EVENT_OF_MOVE: Final = {move: event for event, move in _MOVE_OF_EVENT.items()}


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


def fold(events: Iterable[Event], ledger: Ledger | None = None) -> Ledger:
    """Apply events in order to a ledger (an empty one unless given) and return it."""
    ledger = ledger or Ledger()
    for event in events:
        apply(ledger, event)
    return ledger


def apply(ledger: Ledger, event: Event) -> None:
    """Add one event; one of a kind that this version does not know is only named in `unread`."""
    if event.type in _MOVE_OF_EVENT:
        _add_move(ledger, event)
    elif event.type in _APPLIERS:
        _APPLIERS[event.type](ledger, event)
    else:
        ledger.unread.add(event.type)
    ledger.seq = event.seq


def _add_move(ledger: Ledger, event: Event) -> None:
    series = ledger.series[event.subject]
    recorded = RecordedMove(
        move=from_body(_MOVE_OF_EVENT[event.type], event.body["move"]),
        by=event.body.get("observed_by") or event.by,
        entered_by=event.by,
        observed_at=event.observed_at,
        recorded_at=event.recorded_at,
        reading=from_body(Reading, event.body["reading"]) if event.body.get("reading") else None,
    )
    ledger.series[series.id] = replace(series, moves=(*series.moves, recorded))


def _establish(ledger: Ledger, event: Event) -> None:
    ledger.site = from_body(Site, event.body)


def _answer_items(ledger: Ledger, event: Event) -> None:
    record = from_body(ServiceRecord, event.body)
    ledger.service_answers[record.apparatus] = record.answers


def _put_into_service(ledger: Ledger, event: Event) -> None:
    _answer_items(ledger, event)
    ledger.service[event.subject] = from_body(ServiceRecord, event.body)


def _begin_day(ledger: Ledger, event: Event) -> None:
    card = from_body(DayCard, event.body)
    ledger.day_cards[card.apparatus, card.day] = card


def _close_down(ledger: Ledger, event: Event) -> None:
    done = from_body(CloseDown, event.body)
    ledger.closed_down[done.apparatus, done.day] = done


def _add_verification(ledger: Ledger, event: Event) -> None:
    verification = from_body(Verification, event.body)
    earlier = ledger.verifications.get(verification.apparatus, ())
    ledger.verifications[verification.apparatus] = (*earlier, verification)


def _decide_limits(ledger: Ledger, event: Event) -> None:
    limits = from_body(DecidedLimits, event.body)
    ledger.chart_limits[limits.apparatus, limits.designation] = (limits, event.observed_at)


def _keep_file(ledger: Ledger, event: Event) -> None:
    kept = from_body(KeptFile, event.body)
    ledger.files[kept.result] = (*ledger.files.get(kept.result, ()), kept)


def _add_evidence(ledger: Ledger, event: Event) -> None:
    evidence = from_body(Evidence, event.body)
    earlier = ledger.evidence.get(event.subject, ())
    ledger.evidence[event.subject] = (*earlier, evidence)


def _confirm(ledger: Ledger, event: Event) -> None:
    read = from_body(Confirmation, event.body)
    read = replace(read, by=event.by, confirmed_at=event.observed_at)
    earlier = ledger.confirmations.get(read.method, {})
    ledger.confirmations[read.method] = {**earlier, read.number: read}


def _begin_series(ledger: Ledger, event: Event) -> None:
    series = from_body(Series, event.body)
    ledger.series[series.id] = series
    method = ledger.tests[series.test].method
    ledger.confirmed_at_begin[series.id] = ledger.confirmations.get(method, {})


def _issue(ledger: Ledger, event: Event) -> None:
    result = from_body(Result, event.body)
    ledger.results[result.id] = result
    ledger.issued_at[result.id] = (event.observed_at, event.by)


def _let_stand(ledger: Ledger, event: Event) -> None:
    reviewed = from_body(ResultStands, event.body)
    earlier = ledger.stands.get(reviewed.result, frozenset())
    ledger.stands[reviewed.result] = earlier.union(reviewed.holds)


def _correct(ledger: Ledger, event: Event) -> None:
    done = from_body(CorrectiveAction, event.body)
    ledger.corrective[done.failure] = (*ledger.corrective.get(done.failure, ()), done)


def _into(shelf: str, kind: type) -> Callable[[Ledger, Event], None]:
    def put(ledger: Ledger, event: Event) -> None:
        place: dict[str, Any] = getattr(ledger, shelf)
        place[event.subject] = from_body(kind, event.body)

    return put


_APPLIERS: Final[dict[str, Callable[[Ledger, Event], None]]] = {
    "laboratory-established": _establish,
    "person-registered": _into("people", Person),
    "apparatus-registered": _into("apparatus", Apparatus),
    "service-items-answered": _answer_items,
    "apparatus-put-into-service": _put_into_service,
    "day-begun": _begin_day,
    "bench-closed-down": _close_down,
    "probe-checked": _into("probes", ProbeCheck),
    "reference-material-received": _into("materials", ReferenceMaterial),
    "apparatus-verified": _add_verification,
    "cause-assigned": _into("causes", AssignedCause),
    "chart-limits-decided": _decide_limits,
    "sample-received": _into("samples", Sample),
    "evidence-recorded": _add_evidence,
    "test-requested": _into("tests", RequestedTest),
    "plan-made": _into("plans", Plan),
    "hazards-reviewed": _into("reviews", HazardReview),
    "parameters-confirmed": _confirm,
    "series-begun": _begin_series,
    "result-issued": _issue,
    "result-released": _into("releases", Release),
    "result-held": _into("releases", Release),
    "result-classified": _into("classified", Classified),
    "file-kept": _keep_file,
    "trace-mapping-remembered": _into("trace_mappings", TraceMapping),
    "report-issued": _into("reports", IssuedReport),
    "result-superseded": _into("superseded", Supersession),
    "hold-placed": _into("holds", Hold),
    "hold-lifted": _into("lifted", HoldLifted),
    "result-let-stand": _let_stand,
    "result-disputed": _into("disputes", Dispute),
    "dispute-settled": _into("settled", DisputeSettled),
    "system-failure-noted": _into("failures", SystemFailure),
    "corrective-action-taken": _correct,
}
