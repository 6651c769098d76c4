"""Where a heated test stands: what each run said, and the next start or how the test ended."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from closedcup.methods.aim import FiniteAim
from closedcup.methods.bench import Applied, Bench, Run, bench_after
from closedcup.methods.cup import SAME_C, settable
from closedcup.methods.determination import Determination, Status, counted, determination
from closedcup.methods.ending_early import early_ending, ended_by
from closedcup.methods.finite import BOIL_OVERS_TO_STOP, boil_overs, masking
from closedcup.methods.ramp_terms import RunTerms, first_application_c, terms, window_c
from closedcup.methods.ramp_words import guess_words, window_words
from closedcup.methods.search import Next
from closedcup.methods.state import Ending, State


@dataclass(frozen=True, slots=True)
class RampView:
    """Everything derived from a state once.

    terms: one for each run on the bench. expected_corrected_c: what is expected now, after what
    the runs have said.
    """

    state: State
    bench: Bench
    terms: tuple[RunTerms, ...]
    determinations: tuple[Determination, ...]
    expected_corrected_c: float | None
    due: Next | Ending

    @property
    def open_run(self) -> Run | None:
        """The run that is going on: a specimen in the cup whose ramp has not ended."""
        run = self.bench.in_cup
        return run if run is not None and _last_word(self.state, run) is None else None

    @property
    def open_terms(self) -> RunTerms:
        """The terms of the last run."""
        return self.terms[-1]

    def terms_at(self, set_cup_c: float) -> RunTerms:
        """Return the terms of a run that would be set to a temperature now."""
        return terms(self.state, set_cup_c, self.expected_corrected_c)


def ramp_view(state: State) -> RampView:
    """Derive where a heated test stands from its moves."""
    bench = bench_after(state.moves)
    expected_c = state.aim.expected_corrected_c if isinstance(state.aim, FiniteAim) else None
    judged: list[Determination] = []
    of_runs: list[RunTerms] = []
    for run in bench.runs:
        its = terms(state, run.set_cup_c, expected_c)
        of_runs.append(its)
        last = _last_word(state, run)
        for applied in run.applied:
            if applied.withdrawn or applied is last:
                judged.append(_judge(state, run, its, applied, len(judged) + 1))
        if last is not None and judged[-1].flashed and judged[-1].status != "withdrawn":
            expected_c = state.corrected(judged[-1].cup_c)
    due = _next_run(state, bench, of_runs, judged)
    end = ended_by(state.moves)
    if end is not None and isinstance(due, Next):
        due = early_ending(state, judged, end, _no_flashes_c(bench.runs))
    return RampView(state, bench, tuple(of_runs), tuple(judged), expected_c, due)


def _last_word(state: State, run: Run) -> Applied | None:
    """Return the application that ended the run: not a no flash, or at the highest reach."""
    highest_c = state.reach.highest_cup_c - SAME_C
    for applied in run.standing:
        counts_as, _, _ = counted(state.method, state.product, applied.application)
        if counts_as != "no flash" or applied.application.cup_c >= highest_c:
            return applied
    return None


def _is_first(run: Run, its: RunTerms, applied: Applied) -> bool:
    """Say whether an application was the first of its run, or a safety one before it.

    Where the apparatus applies the igniter by itself only some applications are recorded; the
    first is then the one made before the first interval had passed.
    """
    shown_c = applied.application.cup_c
    if its.is_safety(applied):
        return True
    if run.ramp is not None and run.ramp.automatic:
        return shown_c < its.first_cup_c + its.interval_c(its.first_cup_c) - SAME_C
    counting = [one for one in run.standing if not its.is_safety(one)]
    return not counting or counting[0] is applied


def _judge(state: State, run: Run, its: RunTerms, applied: Applied, number: int) -> Determination:
    application = applied.application
    counts_as, deviating, remarks = counted(state.method, state.product, application)
    status: Status = "void" if counts_as in ("void", "stop") else "valid"
    if counts_as == "flash":
        status, more = _flash_counts(state, run, its, applied)
        remarks += more
    return determination(
        number,
        run,
        applied,
        counts_as=counts_as,
        status=status,
        deviations=deviating,
        remarks=remarks,
    )


def _flash_counts(
    state: State, run: Run, its: RunTerms, applied: Applied
) -> tuple[Status, tuple[str, ...]]:
    """Say whether a flash counts: not at the first application, and inside the window."""
    found_c = applied.application.cup_c
    if _is_first(run, its, applied):
        return "void", ("Void: a flash at the first application does not count.",)
    window = window_c(state.method)
    above_c = found_c - first_application_c(run, its)
    inside = window is None or window[0] - SAME_C <= above_c <= window[1] + SAME_C
    if state.seeks_volatile and (its.is_guess or not inside):
        text = (
            "A volatile contaminant is looked for: the window of the first application may be "
            "ignored."
        )
        return "valid", (text,)
    if its.is_guess:
        return "approximate", (guess_words(found_c),)
    return ("valid", ()) if inside else ("approximate", (window_words(its, above_c),))


def _next_run(
    state: State, bench: Bench, of_runs: Sequence[RunTerms], judged: Sequence[Determination]
) -> Next | Ending:
    standing = [one for one in judged if one.status != "withdrawn"]
    for one in standing:
        if one.counts_as == "stop" and not one.burnt_on:
            return masking(one)
        if one.status == "valid":
            return _found(state, bench, of_runs, one)
    if boil_overs(standing) >= BOIL_OVERS_TO_STOP:
        return _boils(bench.runs)
    said = [one for one in standing if one.flashed]
    if not said:
        return Next(state.start_cup_c, "start", _why_again(standing))
    if said[-1].status == "approximate":
        return _after_approximate(state, bench, of_runs, said[-1])
    return _after_too_high(state, said)


def _after_approximate(
    state: State, bench: Bench, of_runs: Sequence[RunTerms], seen: Determination
) -> Next | Ending:
    """Start again from the corrected expectation, unless no lower start is possible."""
    lowest_c = state.reach.lowest_start_cup_c
    set_c = max(seen.cup_c - state.method.number("start_offset").value, lowest_c)
    its = _terms_of(bench, of_runs, seen)
    at_lowest = seen.set_cup_c <= lowest_c + state.method.number("hold_tolerance").value
    too_near = (
        not its.is_guess and seen.cup_c - its.first_cup_c < (window_c(state.method) or (0,))[0]
    )
    if at_lowest and too_near:
        return _found(state, bench, of_runs, seen)
    return Next(
        settable(math.floor(set_c) if math.floor(set_c) >= lowest_c else set_c),
        "first",
        f"{' '.join(seen.remarks)} Fresh specimen, with {seen.cup_c:g} °C (cup) expected.",
    )


def _after_too_high(state: State, said: Sequence[Determination]) -> Next | Ending:
    last, lowest_start_c = said[-1], state.reach.lowest_start_cup_c
    lowest_seen_c = min(one.cup_c for one in said)
    if lowest_seen_c <= lowest_start_c + state.method.number("hold_tolerance").value:
        return Ending(
            "flash at or below",
            f"Vapour burnt at {lowest_seen_c:g} °C (cup), the lowest start possible: the flash "
            "point is at or below it.",
            lowest_flash_cup_c=lowest_seen_c,
        )
    drop_c = state.method.number("start_offset").value
    start_c = settable(max(lowest_seen_c - drop_c, lowest_start_c))
    return Next(
        start_c,
        "burning" if last.burnt_on else "first",
        f"{last.eye.capitalize()} at {lowest_seen_c:g} °C, too near the start: cool, "
        f"clean, fresh specimen from {start_c:g} °C.",
    )


def _terms_of(bench: Bench, of_runs: Sequence[RunTerms], one: Determination) -> RunTerms:
    runs = zip(bench.runs, of_runs, strict=True)
    return next(its for run, its in runs if run.loaded.specimen == one.specimen)


def _why_again(standing: Sequence[Determination]) -> str:
    if not standing:
        return "First run, from the starting temperature."
    last = standing[-1]
    return f"{last.eye.capitalize()}: void. {last.eye.next_step} Start again."


def _found(state: State, bench: Bench, of_runs: Sequence[RunTerms], last: Determination) -> Ending:
    if last.counts_as != "flash":
        return Ending(
            "no flash up to",
            f"No flash up to {last.cup_c:g} °C (cup), {state.reach.what_ends_it}. That is not "
            "proof that the sample does not burn.",
            highest_no_flash_cup_c=last.cup_c,
        )
    warnings: tuple[str, ...] = ()
    low_c = state.reach.scope_low_cup_c
    if low_c is not None and last.cup_c < low_c - SAME_C:
        text = (
            f"The flash lies below the scope of {state.method.designation}: indicative only; "
            "determine it with an equilibrium method."
        )
        warnings = (text,)
    if last.status == "approximate":
        warnings += ("Approximate: no lower start was possible, so that the window was missed.",)
    return Ending(
        "flash point",
        f"Flash at {last.cup_c:g} °C (cup) on the ramp.",
        observed_cup_c=last.cup_c,
        highest_no_flash_cup_c=_no_flash_below_c(bench, of_runs, last),
        lowest_flash_cup_c=last.cup_c,
        confirmed=last.status == "valid",
        warnings=warnings,
    )


def _no_flash_below_c(bench: Bench, of_runs: Sequence[RunTerms], flash: Determination) -> float:
    """Return the application before a flash: the last one recorded where it is done by hand.

    An apparatus that applies by itself has done so at the method's interval.
    """
    run = next(one for one in bench.runs if one.loaded.specimen == flash.specimen)
    if run.ramp is not None and not run.ramp.automatic:
        below_c = [cup_c for cup_c in _no_flashes_c([run]) if cup_c < flash.cup_c]
        if below_c:
            return max(below_c)
    interval_c = _terms_of(bench, of_runs, flash).interval_c(flash.cup_c - SAME_C)
    return flash.cup_c - interval_c


def _no_flashes_c(runs: Sequence[Run]) -> list[float]:
    """Return the cup temperatures of the applications without a flash."""
    return [
        one.application.cup_c
        for run in runs
        for one in run.standing
        if one.application.eye.counts_as == "no flash"
    ]


def _boils(runs: Sequence[Run]) -> Ending:
    no_flash_c = max(_no_flashes_c(runs), default=None)
    if no_flash_c is None:
        return Ending("stopped", "The specimen boiled over twice: stopped for the reviewer.")
    return Ending(
        "no flash up to",
        f"No flash up to {no_flash_c:g} °C (cup), then the specimen boils over. That is not a "
        "flash point and not proof that the sample does not burn.",
        highest_no_flash_cup_c=no_flash_c,
    )
