"""The finite search of the equilibrium method: where the next fresh specimen is tested."""

from collections.abc import Mapping
from dataclasses import dataclass

from closedcup.methods.cup import SAME_C


@dataclass(frozen=True, slots=True)
class Steps:
    """The steps of a search in °C; half_c is None where the last step is the fine one."""

    coarse_c: float
    fine_c: float
    half_c: float | None
    restart_drop_c: float


@dataclass(frozen=True, slots=True)
class Evidence:
    """What the specimens say: set cup temperature to flashed or not; where vapour burnt on."""

    flashed_at: Mapping[float, bool]
    burnt_on_at: frozenset[float]

    @property
    def lowest_flash_c(self) -> float | None:
        """The lowest temperature with a flash."""
        return min((cup for cup, flashed in self.flashed_at.items() if flashed), default=None)

    @property
    def highest_no_flash_c(self) -> float | None:
        """The highest temperature without a flash, below the lowest flash if there is one."""
        top = self.lowest_flash_c
        return max(
            (
                cup
                for cup, flashed in self.flashed_at.items()
                if not flashed and (top is None or cup < top)
            ),
            default=None,
        )


@dataclass(frozen=True, slots=True)
class Next:
    """The temperature that the method prescribes next; `stage` names the clause."""

    cup_c: float
    stage: str
    why: str


@dataclass(frozen=True, slots=True)
class Found:
    """The search is over: bracketed, or at an end of the range."""

    kind: str  # "flash point", "flash at or below", "no flash up to"


def next_temperature(
    evidence: Evidence, steps: Steps, *, start_c: float, lowest_c: float, highest_c: float
) -> Next | Found:
    """Return the next temperature of the search as written, or that it is over.

    5 °C moves until a no flash and a flash bracket the flash point, then 1 °C upward from the
    highest no flash, then optionally 0.5 °C below the lowest flash. The known flash on top of
    the bracket is not tested again. No temperature outside the range is asked for.
    """
    flash_c, no_flash_c = evidence.lowest_flash_c, evidence.highest_no_flash_c
    if flash_c is None:
        if no_flash_c is None:
            return Next(start_c, "start", "First test, at the starting temperature.")
        return _up(no_flash_c, steps, highest_c)
    if no_flash_c is None:
        return _down(flash_c, steps, lowest_c, burnt_on=flash_c in evidence.burnt_on_at)
    return _between(no_flash_c, flash_c, steps)


def _up(no_flash_c: float, steps: Steps, highest_c: float) -> Next | Found:
    if no_flash_c >= highest_c - SAME_C:
        return Found("no flash up to")
    cup_c = min(no_flash_c + steps.coarse_c, highest_c)
    return Next(
        cup_c,
        "coarse",
        f"No flash at {no_flash_c:g} °C: fresh specimen {steps.coarse_c:g} °C higher.",
    )


def _down(flash_c: float, steps: Steps, lowest_c: float, *, burnt_on: bool) -> Next | Found:
    if flash_c <= lowest_c + SAME_C:
        return Found("flash at or below")
    if burnt_on:
        cup_c = max(flash_c - steps.restart_drop_c, lowest_c)
        return Next(
            cup_c,
            "burning",
            f"Vapour burnt on at {flash_c:g} °C: cool and start again "
            f"{steps.restart_drop_c:g} °C lower.",
        )
    cup_c = max(flash_c - steps.coarse_c, lowest_c)
    return Next(
        cup_c, "coarse", f"Flash at {flash_c:g} °C: fresh specimen {steps.coarse_c:g} °C lower."
    )


def _between(no_flash_c: float, flash_c: float, steps: Steps) -> Next | Found:
    gap_c = flash_c - no_flash_c
    bracket = f"Between no flash at {no_flash_c:g} and flash at {flash_c:g} °C"
    if gap_c > steps.coarse_c + SAME_C:
        return Next(
            no_flash_c + steps.coarse_c,
            "coarse",
            f"{bracket}: up from the no flash by {steps.coarse_c:g} °C.",
        )
    if gap_c > steps.fine_c + SAME_C:
        return Next(
            no_flash_c + steps.fine_c,
            "fine",
            f"{bracket}: up from the highest no flash by {steps.fine_c:g} °C.",
        )
    if steps.half_c is not None and gap_c > steps.half_c + SAME_C:
        return Next(
            flash_c - steps.half_c,
            "half",
            f"{bracket}: one test {steps.half_c:g} °C below the flash.",
        )
    return Found("flash point")
