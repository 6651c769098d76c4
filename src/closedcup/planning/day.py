"""The order of a day: what is tested after what, at which apparatus, by which analyst.

Verification comes first; a series in the middle is finished; clean samples come before dirty ones
and low flash points before high ones, so that the cup is mostly heated; a volatile sample is
opened only when it is chilled enough. The order is made anew whenever it is asked for.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from math import inf
from typing import Final, Literal

from closedcup.planning.pace import Pace, pace_numbers

What = Literal["chill", "verification", "clean", "blank", "wait", "test"]


@dataclass(frozen=True, slots=True)
class DayTest:
    """A test that can be made today.

    minutes: at the cup, from its first temperature on. open_at_most_c: the sample is opened only
    at or below this, None where nothing asks for it. ready_min: when it is that cold. is_chilling:
    whether it was put to chill already. hurry: why it comes before others, empty where nothing
    presses. others: apparatus besides the planned one that can run it,
    with a plan made anew. analysts: who may make it, anybody where none is named.
    """

    test: str
    sample: str
    apparatus: str
    start_cup_c: float
    specimens: int
    minutes: float
    open_at_most_c: float | None = None
    ready_min: float = 0.0
    is_chilling: bool = False
    is_dirty: bool = False
    is_begun: bool = False
    hurry: str = ""
    others: tuple[str, ...] = ()
    analysts: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class DayCup:
    """An apparatus at the beginning of the list; verify_at_cup_c: where a verification is due."""

    apparatus: str
    pace: Pace
    verification_due: str = ""
    verify_at_cup_c: float | None = None
    verification_min: float = 0.0


@dataclass(frozen=True, slots=True)
class DayEntry:
    """One thing to do; minutes count from the beginning of the list."""

    what: What
    begins_min: float
    ends_min: float
    apparatus: str
    test: str
    sample: str
    cup_c: float | None
    why: str
    analyst: str = ""


@dataclass(slots=True)
class _Cup:
    """An apparatus on the way through the day."""

    facts: DayCup
    at_cup_c: float
    free_min: float = 0.0
    last: DayTest | None = None
    is_used: bool = False
    is_verified: bool = True

    def travel_left(self, to_cup_c: float, now: float) -> float:
        travel = float(self.facts.pace.travel_min(self.at_cup_c, to_cup_c))
        return max(travel - (now - self.free_min), 0.0)


@dataclass(slots=True)
class _Day:
    """The list so far, and where analysts and apparatus stand."""

    cups: dict[str, _Cup]
    left: list[DayTest]
    entries: list[DayEntry] = field(default_factory=list)

    def add(  # noqa: PLR0913 - the parts of an entry
        self,
        what: What,
        begins: float,
        minutes: float,
        why: str,
        analyst: str,
        *,
        cup: _Cup | None = None,
        test: DayTest | None = None,
        cup_c: float | None = None,
    ) -> float:
        """Put one thing on the list; return when it ends."""
        named = what in {"test", "chill"} and test is not None
        self.entries.append(
            DayEntry(
                what,
                begins,
                begins + minutes,
                "" if cup is None else cup.facts.apparatus,
                test.test if named and test is not None else "",
                test.sample if named and test is not None else "",
                cup_c,
                why,
                analyst,
            )
        )
        return begins + minutes


def day_order(
    tests: Sequence[DayTest], cups: Sequence[DayCup], analysts: Sequence[str] = ("",)
) -> tuple[DayEntry, ...]:
    """Return what to do in which order with minutes from now; every test comes once.

    A cup travels to its next temperature while the analyst is elsewhere, and is one analyst's at a
    time. Where no clean sample is cold enough yet, the analyst waits rather than turn to a dirty
    one at the same cup. Entries are ordered by their beginning. Raises ValueError without an
    analyst, for a test that none of them may make, or on an apparatus that is not among the cups.
    """
    day = _Day(
        {
            cup.apparatus: _Cup(cup, cup.pace.at_cup_c, is_verified=not cup.verification_due)
            for cup in cups
        },
        list(tests),
    )
    stranded = [
        one
        for one in tests
        if one.apparatus not in day.cups or (one.analysts and not {*one.analysts} & {*analysts})
    ]
    if not analysts or stranded:
        raise ValueError("a day needs an analyst and an apparatus for every test")
    _put_to_chill(day, analysts[0])
    free = dict.fromkeys(analysts, 0.0)
    while day.left:
        analyst = min(free, key=lambda name: free[name])
        free[analyst] = _next_work(day, analyst, free[analyst])
    order = sorted(range(len(day.entries)), key=lambda at: (day.entries[at].begins_min, at))
    return tuple(day.entries[at] for at in order)


def _put_to_chill(day: _Day, analyst: str) -> None:
    for test in sorted(day.left, key=lambda one: one.start_cup_c):
        if test.ready_min > 0 and not test.is_chilling and test.open_at_most_c is not None:
            why = f"To {test.open_at_most_c:g} °C or below, closed."
            day.add("chill", 0.0, 0.0, why, analyst, test=test)


def _next_work(day: _Day, analyst: str, now: float) -> float:
    """Put an analyst's next work on the list; return when the analyst is free again."""
    free = {name: cup for name, cup in day.cups.items() if cup.free_min <= now + 1e-9}
    planned = {one.apparatus for one in day.left}
    for name, cup in free.items():
        if name in planned and not cup.is_verified:
            return _verify(day, cup, analyst, now)
    own = [one for one in day.left if not one.analysts or analyst in one.analysts]
    wanted = [one for one in own if _cups_for(one, free)]
    if not wanted:
        busy = [cup.free_min for cup in day.cups.values() if cup.free_min > now + 1e-9]
        return min(busy) if own and busy else inf
    test = _next_test(day, wanted, now)
    planned_first = _cups_for(test, free)
    name = (
        test.apparatus
        if test.apparatus in planned_first
        else min(planned_first, key=lambda one: free[one].travel_left(test.start_cup_c, now))
    )
    day.left.remove(test)
    return _run(day, free[name], test, analyst, now)


def _cups_for(test: DayTest, free: dict[str, _Cup]) -> list[str]:
    """Return the free, verified apparatus that can take a test."""
    named = (test.apparatus, *(() if test.is_begun else test.others))
    return [name for name in named if name in free and free[name].is_verified]


def _next_test(day: _Day, wanted: Sequence[DayTest], now: float) -> DayTest:
    """Return the test that comes next: begun, pressing, clean, cold enough, lowest start."""
    begun = [test for test in wanted if test.is_begun]
    pressing = [test for test in wanted if test.hurry and test.ready_min <= now]
    clean = [test for test in pressing or wanted if not test.is_dirty]
    no_clean_left_there = [
        test
        for test in wanted
        if not any(other.apparatus == test.apparatus and not other.is_dirty for other in day.left)
    ]
    pool = begun or clean or pressing or no_clean_left_there or list(wanted)
    ready = [test for test in pool if test.ready_min <= now]
    if ready:
        return min(ready, key=lambda test: (test.start_cup_c, test.test))
    return min(pool, key=lambda test: (test.ready_min, test.start_cup_c, test.test))


def _verify(day: _Day, cup: _Cup, analyst: str, now: float) -> float:
    facts = cup.facts
    at_c = cup.at_cup_c if facts.verify_at_cup_c is None else facts.verify_at_cup_c
    minutes = cup.travel_left(at_c, now) + facts.verification_min
    ends = day.add(
        "verification",
        now,
        minutes,
        facts.verification_due,
        analyst,
        cup=cup,
        cup_c=facts.verify_at_cup_c,
    )
    cup.at_cup_c, cup.free_min, cup.is_used, cup.is_verified = at_c, ends, True, True
    return ends


def _run(day: _Day, cup: _Cup, test: DayTest, analyst: str, now: float) -> float:
    """Add a test with what must come before it at its cup."""
    now = _prepare(day, cup, test, analyst, now)
    minutes = cup.travel_left(test.start_cup_c, now) + test.minutes
    why = _why(test)
    if cup.facts.apparatus != test.apparatus:
        why += f" Planned for {test.apparatus}: make the plan anew for {cup.facts.apparatus} first."
    ends = day.add("test", now, minutes, why, analyst, cup=cup, test=test, cup_c=test.start_cup_c)
    cup.at_cup_c, cup.free_min, cup.last, cup.is_used = test.start_cup_c, ends, test, True
    return ends


def _prepare(day: _Day, cup: _Cup, test: DayTest, analyst: str, now: float) -> float:
    """Add cleaning, a blank and waiting before a test; return when it can begin."""
    pace = cup.facts.pace
    if cup.is_used:
        now = day.add("clean", now, pace.cleaning_min, _CLEANING, analyst, cup=cup)
        because = _blank_because(cup.last, test)
        if because:
            travel = cup.travel_left(test.start_cup_c, now)
            minutes = travel + pace.loading_min + pace.dwell_min
            now = day.add("blank", now, minutes, because, analyst, cup=cup, cup_c=test.start_cup_c)
            cup.at_cup_c, cup.free_min = test.start_cup_c, now
    if test.ready_min > now:
        cold = f"until {test.sample} is at {test.open_at_most_c:g} °C or below"
        now = day.add("wait", now, test.ready_min - now, cold, analyst, cup=cup)
    return now


_CLEANING: Final = "Cup, lid and shutter, before another liquid."


def _blank_because(last: DayTest | None, test: DayTest) -> str:
    """Return why an empty, clean cup must show no flash before a test; empty when it need not."""
    if last is None or last.test == test.test:
        return ""
    if last.is_dirty:
        return f"After {last.sample}, which is dirty: no flash with the cup clean and empty."
    if test.start_cup_c - last.start_cup_c >= pace_numbers()["carry_over"].value:
        return (
            f"What is left of {last.sample} would flash first: no flash with the cup clean and "
            "empty."
        )
    return ""


def _why(test: DayTest) -> str:
    reason = (
        "Begun: a series is finished before another sample."
        if test.is_begun
        else f"{test.hurry.capitalize()}: before what does not press."
        if test.hurry
        else "Dirty: after the clean samples."
        if test.is_dirty
        else "The lowest start of those that are ready."
    )
    reason += f" About {test.specimens} specimens."
    if test.open_at_most_c is None:
        return reason
    return f"{reason} Open only at {test.open_at_most_c:g} °C or below, and close at once."
