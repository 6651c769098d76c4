"""What a diagnosis says in words: the conclusion, and the evidence for each cause."""

from typing import Final

import numpy as np
from numpy.typing import NDArray

from closedcup.app.usecases.diagnosis.reference_history import Gathered
from closedcup.metrology.diagnosis import CHANGE_OF, SCATTER, Diagnosis, RankedCause

Floats = NDArray[np.float64]

_PRESSURE: Final = ("pressure not corrected", "pressure corrected twice")
_WITHIN_DAY: Final = "first of the day"
IN_ORDER: Final = "result in order of time"


def conclusion(found: Diagnosis, gathered: Gathered) -> str:
    """Say in one or two sentences what was found."""
    if not found.found:
        return (
            f"No cause stands out: {len(gathered.made)} results scatter as they would with nothing "
            f"wrong ({share(found.clean_probability)})."
        )
    first = found.causes[0]
    unit = gathered.history.mean_repeatability_c
    named = f"{first.cause} ({first.at})" if first.at else first.cause
    if first.cause == SCATTER:
        what = (
            f"Most likely {named}: repeatability is {unit + first.effect_c:.2f} °C where the "
            f"method's is {unit:.2f} °C."
        )
    else:
        what = (
            f"Most likely {named}: {signed(first.effect_c)} where it is largest "
            f"(95 %: {signed(first.low_c)} to {signed(first.high_c)}), "
            f"{abs(first.effect_c) / unit:.1f} r."
        )
    if found.alike:
        what += f" The data cannot tell it from {found.alike}."
    return what


def evidence(one: RankedCause, gathered: Gathered) -> str:
    """Say what in the results speaks for (or against) a cause."""
    difference = gathered.history.difference_c
    if one.cause == SCATTER:
        expected = float(np.sqrt(np.mean(gathered.history.noise_c**2)))
        return (
            f"standard deviation {difference.std(ddof=1):.2f} °C about a mean of "
            f"{signed(float(difference.mean()))}; the method lets expect {expected:.2f} °C"
        )
    if one.cause == "constant offset":
        return (
            f"mean {signed(float(difference.mean()))} over {difference.size} results, from "
            f"{signed(float(difference.min()))} to {signed(float(difference.max()))}"
        )
    if one.cause in CHANGE_OF.values() or one.cause == _WITHIN_DAY:
        where = one.at or "the first of a day"
        return _two_groups(difference, one.column > 0, where, "the others")
    return _gradual(one, gathered)


def _gradual(one: RankedCause, gathered: Gathered) -> str:
    difference = gathered.history.difference_c
    quantity, title = quantity_of(one.cause, gathered)
    what, _, unit = title.partition(", ")
    if np.ptp(quantity) == 0:
        return f"{what} always {quantity[0]:g} {unit}; mean {signed(float(difference.mean()))}"
    middle = float(np.median(quantity))
    high = quantity > middle
    if not high.any():
        high = quantity >= middle
    above = f"{what} above {middle:g} {unit}".rstrip()
    parts = _two_groups(difference, high, above, "up to there")
    if one.cause in _PRESSURE:
        correction = gathered.history.pressure_correction_c
        if correction is not None:
            slope = float(difference @ correction / (correction @ correction))
            parts += f"; the differences are {slope:+.2f} times the correction"
    return parts


def _two_groups(difference: Floats, in_first: NDArray[np.bool_], first: str, other: str) -> str:
    said = [
        f"{name}: {int(group.sum())} results, mean {signed(float(difference[group].mean()))}"
        for name, group in ((first, in_first), (other, ~in_first))
        if group.any()
    ]
    return "; ".join(said)


def quantity_of(cause: str, gathered: Gathered) -> tuple[Floats, str]:
    """Return what the results are drawn against for a cause, and its title."""
    history = gathered.history
    known: dict[str, tuple[Floats | None, str]] = {
        "grows with temperature": (history.temperature_c, "reference value, °C"),
        "follows heating rate": (history.rate_c_per_min, "heating rate, °C/min"),
        "drift since calibration": (history.days_since_calibration, "days since calibration"),
    }
    if cause in _PRESSURE and history.pressure_correction_c is not None:
        pressure = [each.pressure_kpa for each in gathered.made]
        return np.array(pressure, dtype=np.float64), "station pressure, kPa"
    values, title = known.get(cause, (None, IN_ORDER))
    if values is None:
        return np.arange(1, len(gathered.made) + 1, dtype=np.float64), IN_ORDER
    return values, title


def signed(value_c: float) -> str:
    """Write a difference with its sign and unit."""
    return f"{value_c:+.2f} °C"


def share(probability: float) -> str:
    """Write a probability for a person; never a certainty."""
    if probability < 0.01:
        return "a probability below 1 %"
    return f"a probability of {min(round(100 * probability), 99)} %"
