"""Decisions about a control chart: a cause assigned to a verification, limits decided on."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class AssignedCause:
    """Why a verification came out as it did; it stays on the chart, but out of the limits."""

    verification: str
    apparatus: str
    cause: str


@dataclass(frozen=True, slots=True)
class DecidedLimits:
    """Centre and standard deviation that a chart keeps until the next decision.

    From the verifications `first` to `last` as they stood then; `unit` is that of the chart.
    """

    apparatus: str
    designation: str
    first: str
    last: str
    n: int
    centre: float
    sigma: float
    unit: str
    reason: str
