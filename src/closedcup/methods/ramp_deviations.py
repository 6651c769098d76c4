"""What a heated test did not do as its method says: start, loading, applications, rate."""

from closedcup.methods.aim import FiniteAim
from closedcup.methods.bench import Run
from closedcup.methods.cup import SAME_C
from closedcup.methods.ramp_terms import RunTerms, number_or_none, window_c
from closedcup.methods.state import State


def start_deviations(state: State) -> list[str]:
    """Return whether the first run started too far from its offset.

    Where the method states a window for the flash, that decides instead.
    """
    method = state.method
    tolerance_c = number_or_none(method, "start_tolerance")
    if tolerance_c is None or window_c(method) is not None or not isinstance(state.aim, FiniteAim):
        return []
    if state.aim.expected_corrected_c is None:
        return []
    offset_c = method.number("start_offset").value
    below_c = state.cup(state.aim.expected_corrected_c) - state.start_cup_c
    if abs(below_c - offset_c) <= tolerance_c + method.number("hold_tolerance").value:
        return []
    text = (
        f"The first ramp started {below_c:.1f} °C below the expected flash point; the method asks "
        f"{offset_c:g} ± {tolerance_c:g} °C."
    )
    return [text]


def run_deviations(run: Run, its: RunTerms) -> list[str]:
    """Return the deviations of one run."""
    return [*_loaded_warm(run, its), *_missed_applications(run, its), *_rates(run, its)]


def _loaded_warm(run: Run, its: RunTerms) -> list[str]:
    if run.loaded.cup_c <= its.load_cup_c + SAME_C:
        return []
    text = (
        f"Specimen {run.loaded.specimen} was loaded at {run.loaded.cup_c:g} °C; the method asks "
        f"{its.load_cup_c:g} °C or colder."
    )
    return [text]


def _missed_applications(run: Run, its: RunTerms) -> list[str]:
    """Return the applications that were skipped on a run worked by hand."""
    if run.ramp is None or run.ramp.automatic:
        return []
    found: list[str] = []
    due_c = its.first_cup_c
    for applied in run.standing:
        if its.is_safety(applied):
            continue
        shown_c = applied.application.cup_c
        if shown_c > due_c + its.interval_c(due_c) / 2:
            found.append(f"An application due at {due_c:g} °C was made at {shown_c:g} °C.")
        due_c = shown_c + its.interval_c(shown_c)
    return found


def _rates(run: Run, its: RunTerms) -> list[str]:
    """Return measured rates outside the method's, and checks that a hand-worked run lacks."""
    found: list[str] = []
    rule = its.interval_rule(its.first_cup_c)
    asked = rule.rate or its.method.numbers.get("ramp_rate")
    tolerance = number_or_none(its.method, "ramp_rate_tolerance")
    where = f"specimen {run.loaded.specimen}"
    if asked is not None and tolerance is not None:
        found += [
            f"{where.capitalize()} was heated at {rate:g} °C/min; the method asks "
            f"{asked.value:g} ± {tolerance:g} °C/min."
            for rate in run.rates_degc_per_min
            if abs(rate - asked.value) > tolerance + SAME_C
        ]
    checks, made = number_or_none(its.method, "rate_checks"), len(run.rates_degc_per_min)
    by_hand = run.ramp is not None and not run.ramp.automatic
    if checks is not None and by_hand and made < checks:
        found.append(
            f"The heating rate of {where} was checked {made} times; the method asks {checks:g}."
        )
    return found
