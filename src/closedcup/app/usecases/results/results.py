"""Turn a finished series into a result, classify it, and release it when it may be released."""

from dataclasses import dataclass, replace
from decimal import Decimal

from closedcup.app.opening import OpenLaboratory
from closedcup.app.usecases.bench.benching import BenchView, bench
from closedcup.app.usecases.desk.evidence import evidence_for, with_origin
from closedcup.app.usecases.lookup import find
from closedcup.app.usecases.nonconforming.doubts import doubts_about, reasons_against
from closedcup.app.usecases.people.four_eyes import refuse_own_work
from closedcup.app.usecases.results.mean_result import (
    mean_result,
    refuse_more_due,
    series_together,
    with_value,
)
from closedcup.classification import Evidence as ClassEvidence
from closedcup.classification import classify
from closedcup.errors import ClosedcupError, InputError, Refused
from closedcup.laboratory import Evidence, Result
from closedcup.methods import (
    CorrectedReading,
    Observation,
    Outcome,
    correct,
    precision_at,
    repeat_rule,
)
from closedcup.mixtures import find as find_liquid
from closedcup.quantities import decimal_text
from closedcup.records.facts import Classified, Release
from closedcup.records.ledger import Ledger


@dataclass(frozen=True, slots=True)
class _Precision:
    repeatability_c: float | None
    reproducibility_c: float | None
    note: str


def issue_result(opened: OpenLaboratory, test_id: str, *, key: str | None = None) -> Result:
    """Issue the result of a test whose last series has ended, with every number of its chain.

    Held until released; classified at once. Refused while the series is not finished.
    """
    ledger = opened.state
    find(ledger.tests, test_id, "test")
    earlier = ledger.result_of(test_id)
    if earlier is not None:
        if earlier.id not in ledger.classified:  # an interruption fell between the two entries
            _classify(opened, earlier, bench(opened, earlier.series), key)
        return earlier
    series = ledger.series_of(test_id)
    if not series:
        raise Refused(
            "no-determinations",
            f"Test {test_id} has no determinations.",
            where=f"test {test_id}",
            fix=f"Begin a series with: closedcup begin {test_id}",
        )
    if ledger.series_under_way(test_id) is None:
        raise Refused(
            "result-superseded",
            f"The result of series {series[-1].id} was superseded; no other was begun since.",
            where=f"test {test_id}",
            fix=f"Begin the test again: closedcup begin {test_id}",
        )
    view = bench(opened, series[-1].id)
    if view.outcome is None:
        raise Refused(
            "series-unfinished",
            f"Series {view.series.id} is not finished: {view.instruction.action}.",
            where=f"series {view.series.id}",
            fix=view.instruction.why,
        )
    result = _determined(opened, view, view.outcome)
    opened.record("result-issued", result.id, result, key=key and f"{key}/result")
    _classify(opened, result, view, key)
    return result


def _determined(opened: OpenLaboratory, view: BenchView, outcome: Outcome) -> Result:
    """Return the result of the last series, or of several where the method reports their mean."""
    views = series_together(opened, view)
    refuse_more_due(views)
    return _together(opened.state, view, outcome, views)


def determined_again(opened: OpenLaboratory, issued: Result) -> Result:
    """Compute an issued result again from its determinations, by this program; records nothing.

    Its id, its apparatus's state and what it supersedes are those of now: only numbers compare.
    """
    view = bench(opened, issued.series)
    if view.outcome is None:
        raise Refused(
            "series-unfinished",
            f"By this program series {issued.series} is not finished.",
            where=f"result {issued.id}",
        )
    views = tuple(bench(opened, each) for each in issued.together) or (view,)
    return _together(opened.state, view, view.outcome, views)


def _together(
    ledger: Ledger, view: BenchView, outcome: Outcome, views: tuple[BenchView, ...]
) -> Result:
    last = _result(ledger, view, outcome)
    parts = [
        _result(ledger, each, each.outcome)
        for each in views
        if each.outcome is not None and with_value(each)
    ]
    if not parts or not repeat_rule(view.method).takes_mean:
        return last
    together = mean_result(last, parts, views, outcome.rounding_step_c)
    found = _precision(view, together.corrected_c)
    return replace(
        together,
        repeatability_c=found.repeatability_c,
        reproducibility_c=found.reproducibility_c,
        precision_note=found.note,
    )


def _result(ledger: Ledger, view: BenchView, outcome: Outcome) -> Result:
    chain = _chain(view, outcome)
    found = _precision(view, None if chain is None else chain.corrected_c)
    warnings = (*outcome.warnings, *view.warnings, *(() if chain is None else chain.warnings))
    corrected_low, corrected_high = (
        None if cup_c is None else round(view.state.corrected(cup_c), 6)
        for cup_c in (outcome.highest_no_flash_cup_c, outcome.lowest_flash_cup_c)
    )
    state = ledger.apparatus_state(view.apparatus.id, view.method.id)
    earlier = ledger.results_of(view.test.id)  # none of them is in force any more
    return Result(
        id=f"R-{len(ledger.results) + 1:04d}",
        test=view.test.id,
        series=view.series.id,
        kind=outcome.kind,
        statement=_statement(view, outcome, chain),
        observed_cup_c=None if chain is None else Decimal(repr(round(chain.observed_cup_c, 6))),
        probe_correction_c=None
        if view.series.probe_correction_c is None
        else float(view.series.probe_correction_c),
        pressure_kpa=view.series.pressure.kpa,
        pressure_correction_c=None if chain is None else chain.correction_c,
        corrected_c=None if chain is None else chain.corrected_c,
        reported_c=None if chain is None else chain.reported_c,
        reported_text="" if chain is None else f"{chain.reported_text} °C",
        low_corrected_c=corrected_low,
        high_corrected_c=corrected_high,
        repeatability_c=found.repeatability_c,
        reproducibility_c=found.reproducibility_c,
        precision_note=found.note,
        apparatus_state=str(state),
        verification=_last_verification(ledger, view),
        deviations=outcome.deviations,
        warnings=tuple(dict.fromkeys(warnings)),
        steps=()
        if chain is None
        else tuple(f"{step.what}: {step.value_c:.3f} °C" for step in chain.steps),
        supersedes=earlier[-1].id if earlier else "",
    )


def _chain(view: BenchView, outcome: Outcome) -> CorrectedReading | None:
    """Correct the reading that the method reports: a flash point found, nothing else."""
    if outcome.kind != "flash point" or outcome.observed_cup_c is None:
        return None
    probe = view.series.probe_correction_c
    return correct(
        outcome.observed_cup_c,
        pressure_kpa=view.series.pressure.kpa,
        rounding_step_c=outcome.rounding_step_c,
        probe_correction_c=None if probe is None else float(probe),
        limit=view.test.limit,
    )


def _precision(view: BenchView, corrected_c: float | None) -> _Precision:
    if corrected_c is None:
        without = (
            "The methods state no r and R for a test at a limit."
            if view.method.test == "flash/no-flash"
            else "No value is reported, so that no r and R apply."
        )
        return _Precision(None, None, without)
    try:
        found = precision_at(view.method, corrected_c, view.sample.kind or None)
    except ClosedcupError as error:
        return _Precision(None, None, str(error))
    rule = found.rule
    repeatability = f"r = {rule.repeatability.formula} ({rule.repeatability.known})"
    reproducibility = (
        "R not stated"
        if rule.reproducibility is None
        else f"R = {rule.reproducibility.formula} ({rule.reproducibility.known})"
    )
    return _Precision(
        found.repeatability_c,
        found.reproducibility_c,
        f"{repeatability}; {reproducibility}; {found.product}, X = {corrected_c:.1f} °C. "
        f"{rule.note}",
    )


def _statement(view: BenchView, outcome: Outcome, chain: CorrectedReading | None) -> str:
    if chain is not None:
        what = "Approximate flash point" if outcome.confirmed is False else "Flash point"
        return f"{what} {chain.reported_text} °C, corrected to 101.3 kPa"
    low_cup_c, high_cup_c = outcome.highest_no_flash_cup_c, outcome.lowest_flash_cup_c
    match outcome.kind:
        case "flash" if high_cup_c is not None:
            return f"Flash at {_corrected_text(view, high_cup_c)} °C (corrected to 101.3 kPa)"
        case "no flash" if low_cup_c is not None:
            return f"No flash at {_corrected_text(view, low_cup_c)} °C (corrected to 101.3 kPa)"
        case _:
            return outcome.text


def _corrected_text(view: BenchView, cup_c: float) -> str:
    return decimal_text(view.state.corrected(cup_c), 0.1)


def _last_verification(ledger: Ledger, view: BenchView) -> str:
    done = ledger.verifications_for(view.apparatus.id, view.method.id)
    return done[-1].id if done else ""


def evidence_of(opened: OpenLaboratory, result: Result, view: BenchView) -> ClassEvidence:
    """Return what is known of a result and its sample now, as a classification needs it.

    Raises InputError where something on record cannot be read.
    """
    seen = {one.eye for one in view.outcome.determinations} if view.outcome else set()
    sample = view.sample
    halogenated = any(
        find_liquid(part.name).role == "halogenated"
        for part in sample.composition.components
        if part.fraction > 0
    )
    return evidence_for(
        result,
        view.test,
        sample,
        evidence_on_record(opened.state, sample.id),
        masked=Observation.SWOLLEN_FLAME in seen,
        halogenated=halogenated,
    )


def _classify(opened: OpenLaboratory, result: Result, view: BenchView, key: str | None) -> None:
    try:
        answers = tuple(
            with_origin(answer.as_json(), evidence_on_record(opened.state, view.sample.id))
            for answer in classify(evidence_of(opened, result, view))
        )
        classified = Classified(result.id, answers, None)
    except (InputError, Refused) as refused:  # also evidence on record that contradicts itself
        classified = Classified(result.id, (), refused.as_json()["error"])
    opened.record("result-classified", result.id, classified, key=key and f"{key}/classification")


def classify_again(opened: OpenLaboratory, result_id: str, *, key: str | None = None) -> None:
    """Classify a result anew, after evidence came in; the earlier answer stays in the records."""
    result = find(opened.state.results, result_id, "result")
    _classify(opened, result, bench(opened, result.series), key)


def release_result(opened: OpenLaboratory, result_id: str, *, key: str | None = None) -> Release:
    """Release a result; Refused, with all reasons, while it must be held."""
    ledger = opened.state
    result = find(ledger.results, result_id, "result")
    refuse_own_work(ledger, result, opened.by)
    _refuse_held(ledger, result)
    earlier = ledger.releases.get(result_id)
    if earlier is not None and earlier.released:
        return earlier
    release = Release(result_id, released=True, reasons=())
    opened.record("result-released", result_id, release, key=key)
    return release


def _refuse_held(ledger: Ledger, result: Result) -> None:
    reasons = reasons_against(ledger, result)
    if not reasons:
        return
    flags = doubts_about(ledger, result)
    raise Refused(
        "result-held",
        f"Result {result.id} may not be released. {' '.join(reasons)}",
        where=f"result {result.id}",
        fix=f"See: closedcup holds. Once reviewed: closedcup let-stand {result.id} --reason …, or "
        f"closedcup supersede {result.id} --reason …"
        if flags
        else "Verify the apparatus with a reference material for this method: closedcup verify",
    )


def refuse_unreleased(ledger: Ledger, result: Result) -> None:
    """Raise InputError unless a result was released, Refused when it was put in doubt since."""
    release = ledger.releases.get(result.id)
    if release is None or not release.released:
        raise InputError(
            "result-not-released",
            f"Result {result.id} has not been released.",
            where=f"result {result.id}",
            fix=f"Release it first: closedcup release {result.id}",
        )
    if reasons := reasons_against(ledger, result):
        raise Refused(
            "result-to-be-reviewed",
            f"Result {result.id} was released and is in doubt now. {' '.join(reasons)}",
            where=f"result {result.id}",
            fix="See what holds it: closedcup holds",
        )


def evidence_on_record(ledger: Ledger, sample: str) -> tuple[Evidence, ...]:
    """Return the properties on record for a sample; the last of each name counts."""
    latest = {each.name: each for each in ledger.evidence.get(sample, ())}
    return tuple(latest.values())
