"""What a verification was made under: what a search for the cause of a bias needs."""

from dataclasses import dataclass
from decimal import Decimal

from closedcup.quantities import Pressure


@dataclass(frozen=True, slots=True)
class VerificationConditions:
    """What the results of one verification were made under; None or "" where it is not on record.

    pressure: the station's. correction_applied_c: what was added to a reading for pressure, as the
    analyst believes. lid, igniter: which one, as labelled. operator: who made the results (an id).
    order_in_day: place of the first of them among the day's results on that apparatus, from 1.
    probe_checked_on: the probe's last calibration before.
    """

    pressure: Pressure | None = None
    correction_applied_c: Decimal | None = None
    heating_rate_c_per_min: Decimal | None = None
    lid: str = ""
    igniter: str = ""
    operator: str = ""
    order_in_day: int | None = None
    probe_checked_on: str = ""
