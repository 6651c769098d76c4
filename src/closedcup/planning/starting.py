"""The starting temperature: the method's rule, never above the lowest that anything points to."""

import math
from dataclasses import dataclass, replace
from typing import Final

from closedcup.errors import Refused
from closedcup.methods import (
    FiniteAim,
    LimitAim,
    Method,
    Reach,
    parse_product,
    set_point,
    settable,
)
from closedcup.planning.knowledge import Bench, Expected, Knowledge
from closedcup.planning.specimens import SampleNeed, sample_need, sample_warnings

# A set point or typed temperature this far outside the estimate's interval is not plausible
# (common practice; about five times the interval's usual half-width).
_IMPLAUSIBLE_C: Final = 25.0

# A set point this far above what is expected asks for a cold specimen first (common practice).
_FAR_ABOVE_C: Final = 10.0

_COLD_COST: Final = (
    "How many specimens it takes is not known: from cold it is one for each step of the first "
    "search. Keep sample for it."
)


@dataclass(frozen=True, slots=True)
class Start:
    """Where to start, on the cup's scale, by which rule, trusting what.

    expected_corrected_c: the flash point expected, None when started cold. specimens_expected and
    sample_needed_ml: for the procedure as written, None where nothing is expected.
    """

    start_cup_c: float
    expected_corrected_c: float | None
    rule: str
    clause: str
    trusts: str
    why: tuple[str, ...]
    warnings: tuple[str, ...]
    specimens_expected: int | None
    specimens_at_most: int | None
    sample_needed_ml: float | None
    sources: tuple[dict[str, str], ...] = ()


def starting_temperature(
    method: Method,
    aim: FiniteAim | LimitAim,
    knowledge: Knowledge,
    bench: Bench,
    product: str | None = None,
) -> Start:
    """Return the starting temperature by the method's rule.

    Equilibrium: at the expected flash point; ramp: 15 °C below it; at a limit: the set point. A
    finite test never starts above the lowest of the estimate's lower end, an earlier result, the
    analyst's expectation and a suspected contaminant; an unknown composition or waste starts at
    the lowest temperature within reach. Whole degrees, rounded down. When even the lowest
    temperature within reach lies above such a ceiling, the start is there and a warning says so.
    """
    kind = method.default_product if product is None else parse_product(product)
    if isinstance(aim, LimitAim):
        return _at_limit(method, aim, knowledge, bench, kind)
    if knowledge.is_cold:
        return _cold(method, knowledge, bench.reach(method))
    return _warm(method, aim, knowledge, bench, kind)


def fahrenheit_suspected(typed_c: float, expected: Expected | None, what: str) -> str | None:
    """Return a warning when a temperature typed as °C is far from the estimate and fits in °F."""
    if expected is None:
        return None
    low_c = expected.low_corrected_c - _IMPLAUSIBLE_C
    high_c = expected.high_corrected_c + _IMPLAUSIBLE_C
    if low_c <= typed_c <= high_c:
        return None
    as_fahrenheit_c = (typed_c - 32) * 5 / 9
    hint = (
        f" {typed_c:g} °F would be {as_fahrenheit_c:.1f} °C: was the unit °F?"
        if low_c <= as_fahrenheit_c <= high_c
        else " Check the value, its unit and the composition."
    )
    return (
        f"{what} of {typed_c:g} °C is far from {expected.basis}, {expected.low_corrected_c:.1f} to "
        f"{expected.high_corrected_c:.1f} °C.{hint}"
    )


def _warm(
    method: Method, aim: FiniteAim, knowledge: Knowledge, bench: Bench, product: str
) -> Start:
    ceilings = knowledge.ceilings()
    ceiling_c, reason = ceilings[0]
    expected_c = _expected_c(knowledge)
    reach = bench.reach(method)
    below_c = _start_offset_c(method)
    wanted_cup_c = math.floor(min(bench.cup(expected_c) - below_c, bench.cup(ceiling_c)))
    start_cup_c = settable(min(max(wanted_cup_c, reach.lowest_start_cup_c), reach.highest_cup_c))
    why = [
        f"Expected: {expected_c:.1f} °C at 101.3 kPa, {bench.cup(expected_c):.1f} °C in the cup.",
        *(f"Not above {one:.1f} °C: {because}." for one, because in ceilings),
    ]
    if ceiling_c < expected_c - below_c:
        why.append(f"Lowered to {reason}.")
    need = _need(method, aim, knowledge, bench, product, start_cup_c)
    return Start(
        start_cup_c=start_cup_c,
        expected_corrected_c=expected_c,
        rule=_rule_words(below_c),
        clause=method.clause("start"),
        trusts=_trusts(knowledge),
        why=tuple(why),
        warnings=(
            *_start_warnings(method, knowledge, reach, bench.cup(ceiling_c), reason),
            *sample_warnings(method, need, bench.available_ml),
        ),
        specimens_expected=None if need is None else need.expected,
        specimens_at_most=None if need is None else need.at_most,
        sample_needed_ml=None if need is None else need.volume_ml,
        sources=_sources(method),
    )


def moved_start(  # noqa: PLR0913, PLR0917 - a start, and all that it was made from
    start: Start,
    start_cup_c: float,
    method: Method,
    aim: FiniteAim,
    knowledge: Knowledge,
    bench: Bench,
    *,
    product: str | None,
    why: tuple[str, ...],
) -> Start:
    """Return a start at another temperature, never a higher one, with its own need of sample.

    For what the method leaves free: the caller says why it is there. Raises ValueError for a start
    above the given one, which is the highest that is safe.
    """
    if start_cup_c > start.start_cup_c:
        raise ValueError(f"{start_cup_c} °C lies above the start of {start.start_cup_c} °C")
    kind = method.default_product if product is None else parse_product(product)
    before = _need(method, aim, knowledge, bench, kind, start.start_cup_c)
    need = _need(method, aim, knowledge, bench, kind, start_cup_c)
    dropped = sample_warnings(method, before, bench.available_ml)
    kept = tuple(warning for warning in start.warnings if warning not in dropped)
    return replace(
        start,
        start_cup_c=start_cup_c,
        why=(*start.why, *why),
        warnings=(*kept, *sample_warnings(method, need, bench.available_ml)),
        specimens_expected=None if need is None else need.expected,
        specimens_at_most=None if need is None else need.at_most,
        sample_needed_ml=None if need is None else need.volume_ml,
    )


def _need(  # noqa: PLR0913, PLR0917 - all that a start is made from
    method: Method,
    aim: FiniteAim,
    knowledge: Knowledge,
    bench: Bench,
    product: str,
    start_cup_c: float,
) -> SampleNeed | None:
    if not method.guided:
        return None
    flash_cup_c = bench.cup(_expected_c(knowledge)), bench.cup(_high_c(knowledge))
    return sample_need(method, aim, product, start_cup_c=start_cup_c, flash_cup_c=flash_cup_c)


def _cold(method: Method, knowledge: Knowledge, reach: Reach) -> Start:
    reason = "the sample is waste" if knowledge.is_waste else "the composition is unknown"
    start_cup_c = reach.lowest_start_cup_c
    unknown = method.numbers.get("unknown_start")
    if unknown is not None:  # the method says itself where to start when nothing is expected
        start_cup_c = max(start_cup_c, unknown.value)
    if not math.isfinite(start_cup_c):
        raise Refused(
            "start-unknown",
            f"{reason.capitalize()}, and neither {method.designation} nor the apparatus says how "
            "cold a test can start.",
            where="starting temperature",
            fix="Give the apparatus's lowest cup temperature.",
        )
    return Start(
        start_cup_c=start_cup_c,
        expected_corrected_c=None,
        rule="start cold: the lowest temperature that method and apparatus reach"
        if unknown is None
        else f"nothing expected: start at {unknown.value:g} °C, as the method says",
        clause="decision of the program: start cold" if unknown is None else method.clause("start"),
        trusts="nothing",
        why=(f"Started cold, because {reason}.",),
        warnings=(_COLD_COST,),
        specimens_expected=None,
        specimens_at_most=None,
        sample_needed_ml=None,
        sources=_sources(method),
    )


def _at_limit(
    method: Method, aim: LimitAim, knowledge: Knowledge, bench: Bench, product: str
) -> Start:
    point = set_point(
        aim.limit, pressure_kpa=bench.pressure_kpa, probe_correction_c=bench.probe_correction_c
    )
    warnings = list(point.warnings)
    ceilings = knowledge.ceilings()
    overshoot_c = point.tested_corrected_c - ceilings[0][0] if ceilings else 0.0
    if knowledge.is_cold or overshoot_c > _FAR_ABOVE_C:
        because = (
            "nothing known of the sample can be relied on"
            if knowledge.is_cold
            else f"{ceilings[0][1]} is {ceilings[0][0]:.1f} °C"
        )
        warnings.append(
            f"The set point may lie far above the flash point: {because}. Test one specimen cold "
            "first; if vapour burns on, the flash point lies well below the limit."
        )
    suspicion = fahrenheit_suspected(aim.limit.corrected_c, knowledge.estimate, "A limit")
    if suspicion is not None:
        warnings.append(suspicion)
    need = sample_need(
        method,
        aim,
        product,
        start_cup_c=point.cup_settable_c,
        flash_cup_c=(point.cup_settable_c, point.cup_settable_c),
    )
    return Start(
        start_cup_c=point.cup_settable_c,
        expected_corrected_c=None if knowledge.is_cold else _expected_c(knowledge),
        rule="at a limit: the set point, shifted for pressure",
        clause=method.clause("start"),
        trusts="nothing: the limit sets the temperature",
        why=(point.why, *point.steps),
        warnings=(*warnings, *sample_warnings(method, need, bench.available_ml)),
        specimens_expected=need.expected,
        specimens_at_most=need.at_most,
        sample_needed_ml=need.volume_ml,
        sources=_sources(method),
    )


def _expected_c(knowledge: Knowledge) -> float:
    """Return the flash point expected: an earlier result, else the analyst's, else the estimate."""
    if knowledge.previous_corrected_c:
        return min(knowledge.previous_corrected_c)
    if knowledge.typed_expected_corrected_c is not None:
        return knowledge.typed_expected_corrected_c
    assert knowledge.estimate is not None  # noqa: S101 - else the test starts cold
    return knowledge.estimate.best_corrected_c


def _high_c(knowledge: Knowledge) -> float:
    """Return the highest flash point to reckon with when counting specimens."""
    highest = [_expected_c(knowledge), *knowledge.previous_corrected_c]
    if knowledge.estimate is not None:
        highest.append(knowledge.estimate.high_corrected_c)
    return max(highest)


def _start_offset_c(method: Method) -> float:
    offset = method.numbers.get("start_offset")
    return 0.0 if offset is None else offset.value


def _rule_words(below_c: float) -> str:
    where = f"{below_c:g} °C below" if below_c else "at"
    return f"{where} the expected flash point, never above the lowest that anything points to"


def _trusts(knowledge: Knowledge) -> str:
    if knowledge.previous_corrected_c:
        return "the sample's history"
    if knowledge.typed_expected_corrected_c is not None:
        return "what the analyst expects"
    return f"the {knowledge.composition} composition"


def _start_warnings(
    method: Method, knowledge: Knowledge, reach: Reach, ceiling_cup_c: float, reason: str
) -> list[str]:
    warnings: list[str] = []
    lowest_c = reach.lowest_start_cup_c
    if ceiling_cup_c < lowest_c:
        warnings.append(
            f"{reason.capitalize()} lies below {lowest_c:.1f} °C, the lowest start possible here: "
            "a flash there says “at or below” only. Take an apparatus that cools further."
        )
    if knowledge.contaminants and method.kind == "ramp":
        warnings.append(
            "A ramp may miss traces of a volatile contaminant: take an equilibrium method."
        )
    if knowledge.typed_expected_corrected_c is not None:
        suspicion = fahrenheit_suspected(
            knowledge.typed_expected_corrected_c, knowledge.estimate, "An expected flash point"
        )
        if suspicion is not None:
            warnings.append(suspicion)
    return warnings


def _sources(method: Method) -> tuple[dict[str, str], ...]:
    offset = method.numbers.get("start_offset")
    return () if offset is None else (offset.as_json("start below the expected flash point"),)
