"""The terms of one heated run: first application, interval, rate, loading, window."""

from dataclasses import dataclass

from closedcup.methods.bench import Applied, Run
from closedcup.methods.cup import settable
from closedcup.methods.published_method import IntervalRule, Method
from closedcup.methods.state import State


@dataclass(frozen=True, slots=True)
class RunTerms:
    """What the method asks of one run, from where it is set and what was expected before it.

    first_cup_c: the first application. load_cup_c: the specimen goes in at or below it.
    is_guess: nothing was expected, so that the value found only says where to start.
    """

    method: Method
    first_cup_c: float
    load_cup_c: float
    expected_corrected_c: float | None
    expected_cup_c: float | None
    is_guess: bool

    def interval_rule(self, cup_c: float) -> IntervalRule:
        """Return the rule for applications and rate at a cup temperature."""
        return self.method.interval_rule(cup_c, self.expected_corrected_c)

    def interval_c(self, cup_c: float) -> float:
        """Return the interval after an application at a cup temperature."""
        return self.interval_rule(cup_c).interval.value

    def is_safety(self, applied: Applied) -> bool:
        """Say whether an application came before the first: a safety application."""
        shown_c = applied.application.cup_c
        return self.has_safety and shown_c < self.first_cup_c - self.interval_c(shown_c) / 2

    @property
    def has_safety(self) -> bool:
        """Whether safety applications are advised below the first one."""
        above = number_or_none(self.method, "safety_above")
        return (
            above is not None
            and self.expected_corrected_c is not None
            and self.expected_corrected_c > above
        )

    def next_cup_c(self, run: Run) -> float:
        """Return where the igniter is due next on a run that goes on."""
        if not run.standing or self.is_safety(run.standing[-1]):
            return self._first_or_safety_c(run)
        last_c = run.standing[-1].application.cup_c
        return settable(last_c + self.interval_c(last_c))

    def _first_or_safety_c(self, run: Run) -> float:
        """Return the next safety application if one is due before the first application.

        Each 10 °C from the start on, until 28 °C below the expected flash point.
        """
        if not self.has_safety or run.ramp is None or self.expected_cup_c is None:
            return self.first_cup_c
        last_c = run.standing[-1].application.cup_c if run.standing else run.ramp.cup_c
        due_c = last_c + self.method.number("safety_interval").value
        until_c = self.expected_cup_c - self.method.number("safety_until_below").value
        return settable(due_c) if due_c <= min(until_c, self.first_cup_c) else self.first_cup_c


def number_or_none(method: Method, name: str) -> float | None:
    """Return a number where the method's data holds it."""
    cited = method.numbers.get(name)
    return None if cited is None else cited.value


def terms(state: State, set_cup_c: float, expected_corrected_c: float | None) -> RunTerms:
    """Return the terms of a run set to a temperature.

    The cup is set to the first application. Where nothing is expected and the method says so, it
    is set to the start instead and the first application comes some degrees above. The specimen
    goes in colder where the method asks for more chilling than the first application gives.
    """
    method = state.method
    above_c = number_or_none(method, "unknown_first_above")
    unknown = expected_corrected_c is None
    chill_c, offset_c = (
        number_or_none(method, name) or 0.0 for name in ("chill_below_expected", "start_offset")
    )
    return RunTerms(
        method=method,
        first_cup_c=settable(set_cup_c + above_c) if unknown and above_c else set_cup_c,
        load_cup_c=settable(set_cup_c if unknown else set_cup_c - max(0.0, chill_c - offset_c)),
        expected_corrected_c=expected_corrected_c,
        expected_cup_c=None if expected_corrected_c is None else state.cup(expected_corrected_c),
        is_guess=unknown and above_c is not None,
    )


def window_c(method: Method) -> tuple[float, float] | None:
    """Return how far above the first application a flash counts; None where nothing is stated."""
    low, high = number_or_none(method, "window_low"), number_or_none(method, "window_high")
    return None if low is None or high is None else (low, high)


def first_application_c(run: Run, its: RunTerms) -> float:
    """Return where the igniter was first applied, safety applications aside.

    An apparatus that applies by itself begins where it was set; only some of its applications are
    recorded.
    """
    if run.ramp is not None and run.ramp.automatic:
        return its.first_cup_c
    counting = [one for one in run.standing if not its.is_safety(one)]
    return counting[0].application.cup_c if counting else its.first_cup_c
