"""What is believed of a flash point before a test: its estimate, its history, or nothing.

One place for the plan, the bench and the day, so that all three believe the same.
"""

from collections.abc import Callable, Mapping, Sequence
from typing import Any, Final

from closedcup.app.opening import OpenLaboratory
from closedcup.app.usecases.nonconforming.doubts import doubts_about
from closedcup.errors import Refused
from closedcup.laboratory import RequestedTest, Sample
from closedcup.methods import Method, Reach, precision_at
from closedcup.planning import (
    Belief,
    Interval,
    even_prior,
    interval_from_history,
    prior_from_interval,
    scatter_from_repeatability,
    with_history,
)
from closedcup.planning.like_samples import FEW_HALF_WIDTH_C
from closedcup.records.projections import SampleQuery

Answer = dict[str, Any]

_SCATTER_C: Final = 0.3  # where a method states no repeatability (judgement)
_LEAST_HALF_WIDTH_C: Final = 1.0  # a history is never sharper than the methods' step (judgement)
_MOST_LIKE_SAMPLES: Final = 30


def earlier_results(opened: OpenLaboratory, sample: Sample) -> list[Answer]:
    """Return earlier flash points of a sample's source, corrected, with where each is from.

    What the desk typed, and results from outside on this sample; then the laboratory's own released
    results on samples of the same customer and description, the newest first, 30 at most, without
    those in doubt.
    """
    typed = [{"corrected_c": float(past.corrected_c), "what": past.what} for past in sample.history]
    ledger = opened.state
    words = tuple(f"{sample.description} {sample.customer}".casefold().split())
    typed += [
        {
            "corrected_c": float(each.corrected_c),
            "what": f"{each.method}, {each.laboratory or 'from outside'}, {each.tested_on[:10]}",
        }
        for each in ledger.outside_results_of(sample.id)
    ]
    found: list[Answer] = []
    for row in opened.sample_rows(SampleQuery(words=words, limit=4 * _MOST_LIKE_SAMPLES)):
        other = ledger.samples[row.sample]
        if other.id == sample.id or not _is_like(other, sample):
            continue
        for test in ledger.tests_of(other.id):
            value = _released_value(opened, test)
            if value is not None:
                found.append({"corrected_c": value, "what": f"{test.id} on {other.id}"})
    return [*typed, *found[:_MOST_LIKE_SAMPLES]]


def _is_like(other: Sample, sample: Sample) -> bool:
    return [_plain(other.description), _plain(other.customer), other.is_waste] == [
        _plain(sample.description),
        _plain(sample.customer),
        sample.is_waste,
    ]


def _plain(text: str) -> str:
    return " ".join(text.casefold().split())


def _released_value(opened: OpenLaboratory, test: RequestedTest) -> float | None:
    ledger = opened.state
    result = ledger.result_of(test.id)
    if result is None or result.kind != "flash point" or result.corrected_c is None:
        return None
    release = ledger.releases.get(result.id)
    if release is None or not release.released or doubts_about(ledger, result):
        return None
    return float(result.corrected_c)


def history_speaks(sample: Sample) -> bool:
    """Say whether earlier results still speak: not for what may be contaminated or is unknown."""
    return not (sample.suspected or sample.is_waste or sample.composition.trust == "unknown")


def believed(
    estimate: Mapping[str, Any] | None,
    earlier_c: Sequence[float],
    cup: Callable[[float], float],
    reach: Reach,
) -> tuple[Belief, str]:
    """Return the belief before a test, on the cup's scale, and in words what it rests on.

    estimate: as issued, with `flash_point_c`, `low_c`, `high_c`; earlier_c: results that still
    speak; both corrected to 101.3 kPa.
    """
    within = {"lowest_cup_c": reach.lowest_cup_c, "highest_cup_c": reach.highest_cup_c}
    past = [cup(each) for each in earlier_c]
    history = interval_from_history(past, at_least_c=_LEAST_HALF_WIDTH_C) if past else None
    words = f"{len(past)} earlier result{'s' if len(past) > 1 else ''}"
    if estimate is None and history is None:
        return even_prior(**within), "nothing: every temperature within reach alike"
    if estimate is None:
        assert history is not None  # noqa: S101 - the case above
        few = f", ± {FEW_HALF_WIDTH_C:g} °C around them" if len(past) < 5 else ""
        return prior_from_interval(history, **within), words + few
    best, low, high = (cup(float(estimate[key])) for key in ("flash_point_c", "low_c", "high_c"))
    prior = prior_from_interval(Interval(best, low, high), **within)
    if history is None:
        return prior, "the estimate and its interval"
    return with_history(prior, history), f"the estimate and {words}"


def scatter_of(method: Method, corrected_c: float, kind: str | None, step_c: float) -> float:
    """Return how far the specimens of a sample scatter, from the method's repeatability."""
    try:
        found = precision_at(method, corrected_c, kind)
    except Refused:
        return _SCATTER_C
    return scatter_from_repeatability(found.repeatability_c, step_c)


def belief_as_json(belief: Belief, corrected: Callable[[float], float], basis: str) -> Answer:
    """Return a belief for a plan or an advice, corrected to 101.3 kPa."""
    low_cup_c, high_cup_c = belief.interval_cup_c()
    return {
        "mean_corrected_c": corrected(belief.mean_cup_c),
        "sd_c": belief.sd_c,
        "low_corrected_c": corrected(low_cup_c),
        "high_corrected_c": corrected(high_cup_c),
        "coverage": 0.95,
        "from": basis,
    }
