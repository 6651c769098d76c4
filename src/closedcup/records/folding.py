"""How each kind of event changes the state of the laboratory.

`fold` applies events in order to a `Ledger`. A new kind of event gets a line in `_APPLIERS`.
"""

from collections.abc import Callable, Iterable
from dataclasses import replace
from datetime import datetime
from typing import Any, Final

from closedcup.laboratory import (
    Apparatus,
    AssignedCause,
    DecidedLimits,
    Dispute,
    DisputeSettled,
    Evidence,
    Hold,
    HoldLifted,
    ProbeCheck,
    Reading,
    RecordedMove,
    ReferenceMaterial,
    RequestedTest,
    Result,
    ResultStands,
    Sample,
    Series,
    ServiceRecord,
    Site,
    Supersession,
    Verification,
)
from closedcup.laboratory.chilling import SampleChilling
from closedcup.laboratory.cup_rates import CupRates
from closedcup.laboratory.day import CloseDown, DayCard
from closedcup.methods import (
    Confirmation,
    CupRecovered,
    CupSet,
    DeviationNoted,
    IgniterApplied,
    MoveWithdrawn,
    RampStarted,
    RateChecked,
    SeriesEnded,
    SpecimenLoaded,
)
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
from closedcup.records.folding_desk import DESK_APPLIERS
from closedcup.records.folding_intake import INTAKE_APPLIERS
from closedcup.records.folding_metrology import METROLOGY_APPLIERS
from closedcup.records.folding_people import PEOPLE_APPLIERS
from closedcup.records.folding_upkeep import UPKEEP_APPLIERS
from closedcup.records.ledger import Ledger

_MOVE_OF_EVENT: Final[dict[str, type]] = {
    "cup-set": CupSet,
    "specimen-loaded": SpecimenLoaded,
    "cup-recovered": CupRecovered,
    "ramp-started": RampStarted,
    "rate-checked": RateChecked,
    "igniter-applied": IgniterApplied,
    "entry-withdrawn": MoveWithdrawn,
    "deviation-noted": DeviationNoted,
    "series-ended": SeriesEnded,
}
EVENT_OF_MOVE: Final = {move: event for event, move in _MOVE_OF_EVENT.items()}


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
    """Take the answers while items are open; what was in service is so no longer."""
    record = from_body(ServiceRecord, event.body)
    ledger.service_answers[record.apparatus] = record.answers
    ledger.service.pop(record.apparatus, None)


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
    # those of earlier years are recorded later when they are taken in from a list
    in_order = sorted((*earlier, verification), key=_verified_at)
    ledger.verifications[verification.apparatus] = tuple(in_order)
    ledger.verified_by[verification.id] = event.by


def _verified_at(verification: Verification) -> datetime:
    return datetime.fromisoformat(verification.verified_at)


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


def _note_chilling(ledger: Ledger, event: Event) -> None:
    noted = from_body(SampleChilling, event.body)
    earlier = ledger.chilling.get(event.subject, ())
    ledger.chilling[event.subject] = (*earlier, (event.observed_at, noted))


def _confirm(ledger: Ledger, event: Event) -> None:
    read = from_body(Confirmation, event.body)
    read = replace(read, by=event.by, confirmed_at=event.observed_at)
    earlier = ledger.confirmations.get(read.method, {})
    ledger.confirmations[read.method] = {**earlier, read.number: read}
    log = ledger.confirmation_log.get(read.method, ())
    ledger.confirmation_log[read.method] = (*log, (event.seq, read))


def _begin_series(ledger: Ledger, event: Event) -> None:
    series = from_body(Series, event.body)
    ledger.series[series.id] = series
    method = ledger.tests[series.test].method
    ledger.confirmed_at_begin[series.id] = ledger.confirmed_before(method, event.seq)


def _issue(ledger: Ledger, event: Event) -> None:
    result = from_body(Result, event.body)
    ledger.results[result.id] = result
    ledger.issued_at[result.id] = (event.observed_at, event.by)


def _let_stand(ledger: Ledger, event: Event) -> None:
    reviewed = from_body(ResultStands, event.body)
    earlier = ledger.stands.get(reviewed.result, frozenset())
    ledger.stands[reviewed.result] = earlier.union(reviewed.holds)


def _into(shelf: str, kind: type) -> Callable[[Ledger, Event], None]:
    def put(ledger: Ledger, event: Event) -> None:
        place: dict[str, Any] = getattr(ledger, shelf)
        place[event.subject] = from_body(kind, event.body)

    return put


_APPLIERS: Final[dict[str, Callable[[Ledger, Event], None]]] = {
    "laboratory-established": _establish,
    "apparatus-registered": _into("apparatus", Apparatus),
    "service-items-answered": _answer_items,
    "apparatus-put-into-service": _put_into_service,
    "day-begun": _begin_day,
    "bench-closed-down": _close_down,
    "probe-checked": _into("probes", ProbeCheck),
    "cup-rates-noted": _into("cup_rates", CupRates),
    "reference-material-received": _into("materials", ReferenceMaterial),
    "apparatus-verified": _add_verification,
    "cause-assigned": _into("causes", AssignedCause),
    "chart-limits-decided": _decide_limits,
    "sample-received": _into("samples", Sample),
    "evidence-recorded": _add_evidence,
    "sample-chilling-noted": _note_chilling,
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
    **METROLOGY_APPLIERS,
    **PEOPLE_APPLIERS,
    **DESK_APPLIERS,
    **INTAKE_APPLIERS,
    **UPKEEP_APPLIERS,
}
