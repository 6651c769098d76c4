"""Where a ramp test stands: what each ramp said, and the next start or how the test ended."""

from collections.abc import Sequence
from dataclasses import dataclass

from closedcup.methods.bench import Applied, Bench, Run, bench_after
from closedcup.methods.cup import SAME_C, settable
from closedcup.methods.determination import Determination, Status, counted
from closedcup.methods.finite import BOIL_OVERS_TO_STOP, boil_overs, masking
from closedcup.methods.search import Next
from closedcup.methods.state import Ending, State


@dataclass(frozen=True, slots=True)
class RampView:
    """Everything derived from a state once."""

    state: State
    bench: Bench
    determinations: tuple[Determination, ...]
    due: Next | Ending

    @property
    def open_run(self) -> Run | None:
        """The run that is going on: a specimen in the cup whose ramp has not ended."""
        run = self.bench.in_cup
        return run if run is not None and _last_word(self.state, run) is None else None


def ramp_view(state: State) -> RampView:
    """Derive where a ramp test stands from its moves."""
    bench = bench_after(state.moves)
    judged: list[Determination] = []
    for run in bench.runs:
        last = _last_word(state, run)
        for applied in run.applied:
            if applied.withdrawn or applied is last:
                judged.append(_judge(state, run, applied, len(judged) + 1))
    return RampView(state, bench, tuple(judged), _next_ramp(state, bench.runs, judged))


def _last_word(state: State, run: Run) -> Applied | None:
    """Return the application that ended the ramp: not a no flash, or at the highest reach."""
    highest_c = state.reach.highest_cup_c - SAME_C
    for applied in run.standing:
        counts_as, _, _ = counted(state.method, state.product, applied.application)
        if counts_as != "no flash" or applied.application.cup_c >= highest_c:
            return applied
    return None


def _is_first(state: State, run: Run, applied: Applied) -> bool:
    """Say whether an application was the first of its ramp.

    Where the apparatus applies the igniter by itself only some applications are recorded; the
    first is then the one made before the first interval had passed.
    """
    if run.standing and run.standing[0] is not applied:
        return False
    if run.ramp is not None and run.ramp.automatic:
        first_until_c = run.ramp.cup_c + state.method.interval_c(run.ramp.cup_c)
        return applied.application.cup_c < first_until_c - SAME_C
    return True


def _judge(state: State, run: Run, applied: Applied, number: int) -> Determination:
    application = applied.application
    counts_as, deviating, remarks = counted(state.method, state.product, application)
    status: Status = "void" if counts_as in ("void", "stop") else "valid"
    if counts_as == "flash" and _is_first(state, run, applied):
        status = "void"
        remarks += ("Void: a flash at the first application does not count.",)
    return Determination(
        number=number,
        move_index=applied.move_index,
        specimen=run.loaded.specimen,
        volume_ml=run.loaded.volume_ml,
        set_cup_c=run.set_cup_c,
        cup_c=application.cup_c,
        dwell_s=None,
        eye=application.eye,
        detector=application.detector,
        counts_as=counts_as,
        status="withdrawn" if applied.withdrawn else status,
        deviations=() if applied.withdrawn else deviating,
        remarks=remarks,
    )


def missed_applications(state: State, run: Run) -> list[str]:
    """Return deviations of a hand-worked ramp in which an application was skipped."""
    if run.ramp is None or run.ramp.automatic:
        return []
    found: list[str] = []
    due_c = run.ramp.cup_c
    for applied in run.standing:
        shown_c = applied.application.cup_c
        if shown_c > due_c + state.method.interval_c(due_c) / 2:
            found.append(f"An application due at {due_c:g} °C was made at {shown_c:g} °C.")
        due_c = shown_c + state.method.interval_c(shown_c)
    return found


def _next_ramp(state: State, runs: Sequence[Run], judged: Sequence[Determination]) -> Next | Ending:
    standing = [one for one in judged if one.status != "withdrawn"]
    for one in standing:
        if one.counts_as == "stop" and not one.burnt_on:
            return masking(one)
        if one.status == "valid":
            return _found(state, one)
    if boil_overs(standing) >= BOIL_OVERS_TO_STOP:
        return _boils(runs)
    too_high = [one.cup_c for one in standing if one.flashed]
    if not too_high:
        return Next(state.start_cup_c, "start", _why_again(standing))
    lowest_seen_c, lowest_start_c = min(too_high), state.reach.lowest_start_cup_c
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
        "burning" if standing[-1].burnt_on else "first",
        f"{standing[-1].eye.capitalize()} at {lowest_seen_c:g} °C, too near the start: cool, "
        f"clean, fresh specimen from {start_c:g} °C.",
    )


def _why_again(standing: Sequence[Determination]) -> str:
    if not standing:
        return "First ramp, from the starting temperature."
    last = standing[-1]
    return f"{last.eye.capitalize()}: void. {last.eye.next_step} Start again."


def _found(state: State, last: Determination) -> Ending:
    if last.counts_as != "flash":
        return Ending(
            "no flash up to",
            f"No flash up to {last.cup_c:g} °C (cup), {state.reach.what_ends_it}. That is not "
            "proof that the sample does not burn.",
            highest_no_flash_cup_c=last.cup_c,
        )
    interval_c = state.method.interval_c(last.cup_c - SAME_C)
    warnings: tuple[str, ...] = ()
    low_c = state.reach.scope_low_cup_c
    if low_c is not None and last.cup_c < low_c - SAME_C:
        warnings = (
            (
                f"The flash lies below the scope of {state.method.designation}: indicative only; "
                "determine it with an equilibrium method."
            ),
        )
    return Ending(
        "flash point",
        f"Flash at {last.cup_c:g} °C (cup) on the ramp.",
        observed_cup_c=last.cup_c,
        highest_no_flash_cup_c=last.cup_c - interval_c,
        lowest_flash_cup_c=last.cup_c,
        confirmed=True,
        warnings=warnings,
    )


def _boils(runs: Sequence[Run]) -> Ending:
    no_flash_c = max(
        (
            one.application.cup_c
            for run in runs
            for one in run.standing
            if one.application.eye.counts_as == "no flash"
        ),
        default=None,
    )
    if no_flash_c is None:
        return Ending("stopped", "The specimen boiled over twice: stopped for the reviewer.")
    return Ending(
        "no flash up to",
        f"No flash up to {no_flash_c:g} °C (cup), then the specimen boils over. That is not a "
        "flash point and not proof that the sample does not burn.",
        highest_no_flash_cup_c=no_flash_c,
    )
