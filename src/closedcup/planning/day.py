"""The order of a day: what is tested after what at each apparatus, by one analyst.

Verification comes first; a series in the middle is finished; clean samples come before dirty ones
and low flash points before high ones, so that the cup is mostly heated; a volatile sample is
opened only when it is chilled enough. The order is made anew whenever it is asked for.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final, Literal

from closedcup.planning.pace import Pace, pace_numbers

What = Literal["verification", "clean", "blank", "wait", "test"]


@dataclass(frozen=True, slots=True)
class DayTest:
    """A test that can be made today.

    minutes: at the cup, from its first temperature on. open_at_most_c: the sample is opened only
    at or below this, None where nothing asks for it. ready_min: when it is that cold.
    """

    test: str
    sample: str
    apparatus: str
    start_cup_c: float
    specimens: int
    minutes: float
    open_at_most_c: float | None = None
    ready_min: float = 0.0
    is_dirty: bool = False
    is_begun: bool = False


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


@dataclass(frozen=True, slots=True)
class _Cup:
    """An apparatus on the way through the day."""

    at_cup_c: float
    free_min: float
    last: DayTest | None = None
    is_used: bool = False


def day_order(tests: Sequence[DayTest], cups: Sequence[DayCup]) -> tuple[DayEntry, ...]:
    """Return what to do in which order with minutes from now; every test comes once.

    A cup travels to its next temperature while the analyst is elsewhere. Where no clean sample is
    cold enough yet, the analyst waits rather than turn to a dirty one.
    """
    entries: list[DayEntry] = []
    known = {cup.apparatus: cup for cup in cups}
    on_the_way = {name: _Cup(cup.pace.at_cup_c, 0.0) for name, cup in known.items()}
    used = {test.apparatus for test in tests}
    now = 0.0
    for cup in cups:
        if cup.apparatus in used and cup.verification_due:
            now, on_the_way[cup.apparatus] = _verify(entries, cup, now)
    left = list(tests)
    while left:
        test = _next(left, now)
        left.remove(test)
        cup = known[test.apparatus]
        now = _prepare(entries, cup, on_the_way[test.apparatus], test, now)
        before = on_the_way[test.apparatus]
        travel = _travel_left(cup, before, test.start_cup_c, now)
        ends = now + travel + test.minutes
        entries.append(
            DayEntry(
                "test",
                now,
                ends,
                test.apparatus,
                test.test,
                test.sample,
                test.start_cup_c,
                _why(test),
            )
        )
        now = ends
        on_the_way[test.apparatus] = _Cup(test.start_cup_c, now, test, is_used=True)
    return tuple(entries)


def _next(left: Sequence[DayTest], now: float) -> DayTest:
    """Return the test that comes next: begun, clean, cold enough, lowest start."""
    begun = [test for test in left if test.is_begun]
    clean = [test for test in left if not test.is_dirty]
    pool = begun or clean or list(left)
    ready = [test for test in pool if test.ready_min <= now]
    if ready:
        return min(ready, key=lambda test: (test.start_cup_c, test.test))
    return min(pool, key=lambda test: (test.ready_min, test.start_cup_c, test.test))


def _verify(entries: list[DayEntry], cup: DayCup, now: float) -> tuple[float, _Cup]:
    at_c = cup.pace.at_cup_c if cup.verify_at_cup_c is None else cup.verify_at_cup_c
    ends = now + float(cup.pace.travel_min(cup.pace.at_cup_c, at_c)) + cup.verification_min
    entries.append(
        DayEntry(
            "verification",
            now,
            ends,
            cup.apparatus,
            "",
            "",
            cup.verify_at_cup_c,
            cup.verification_due,
        )
    )
    return ends, _Cup(at_c, ends, is_used=True)


def _prepare(
    entries: list[DayEntry], cup: DayCup, before: _Cup, test: DayTest, now: float
) -> float:
    """Add cleaning, a blank and waiting before a test; return when it can begin."""
    if before.is_used:
        now = _add(entries, "clean", cup.pace.cleaning_min, test, now, _CLEANING)
        because = _blank_because(before.last, test)
        if because:
            travel = _travel_left(cup, before, test.start_cup_c, now)
            minutes = travel + cup.pace.loading_min + cup.pace.dwell_min
            now = _add(entries, "blank", minutes, test, now, because)
    if test.ready_min > now:
        cold = f"until {test.sample} is at {test.open_at_most_c:g} °C or below"
        now = _add(entries, "wait", test.ready_min - now, test, now, cold)
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


def _travel_left(cup: DayCup, before: _Cup, to_cup_c: float, now: float) -> float:
    travel = float(cup.pace.travel_min(before.at_cup_c, to_cup_c))
    return max(travel - (now - before.free_min), 0.0)


def _add(  # noqa: PLR0913, PLR0917 - the parts of an entry
    entries: list[DayEntry], what: What, minutes: float, test: DayTest, now: float, why: str
) -> float:
    ends = now + minutes
    one = DayEntry(what, now, ends, test.apparatus, "", "", None, why)
    entries.append(replace(one, cup_c=test.start_cup_c) if what == "blank" else one)
    return ends


def _why(test: DayTest) -> str:
    reason = (
        "Begun: a series is finished before another sample."
        if test.is_begun
        else "Dirty: after the clean samples."
        if test.is_dirty
        else "The lowest start of those that are ready."
    )
    reason += f" About {test.specimens} specimens."
    if test.open_at_most_c is None:
        return reason
    return f"{reason} Open only at {test.open_at_most_c:g} °C or below, and close at once."
