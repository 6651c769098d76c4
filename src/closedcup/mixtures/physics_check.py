"""Does a flash point agree with the flammable limit? At it, the vapour should be near the limit.

A value outside the band that nine of ten well-known liquids keep points to a wrong flash
point, a wrong limit, or a vapour unlike others (formic acid is a dimer). It is a warning while
data are entered; it proves nothing. Limits that are estimated have a band of their own.
"""

from dataclasses import dataclass
from functools import cache

from closedcup.mixtures.flammable_limit import LowerLimit, limit_at_percent, lower_limit
from closedcup.mixtures.liquids import Liquid, bibliography, data_file
from closedcup.mixtures.vapour_pressure import vapour_pressure_kpa
from closedcup.quantities.pressure import STANDARD_KPA
from closedcup.sources import load_rows


@dataclass(frozen=True, slots=True)
class SaturationCheck:
    """Saturated vapour at a flash point over the flammable limit there, and the usual band.

    `liquids` is how many consensus values the band (5 to 95 %) was measured on.
    """

    ratio: float
    low: float
    median: float
    high: float
    liquids: int
    limit: LowerLimit

    @property
    def is_usual(self) -> bool:
        """Whether the ratio lies inside the band."""
        return self.low <= self.ratio <= self.high

    @property
    def text(self) -> str:
        """Say it in a sentence."""
        usual = f"usually {self.low:g} to {self.high:g}, {self.liquids} liquids"
        limit = "estimated flammable limit" if self.limit.is_estimated else "flammable limit"
        says = f"Saturated vapour at this flash point is {self.ratio:.2f} × the {limit}"
        if self.is_usual:
            return f"{says} ({usual})."
        return f"{says}, which is unusual ({usual}): check the flash point and the limit."


def saturation_over_limit(liquid: Liquid, flash_c: float, limit: LowerLimit) -> float | None:
    """Return the ratio to a limit, or None without a vapour pressure."""
    if liquid.vapour_pressure is None:
        return None
    saturated_percent = 100 * float(vapour_pressure_kpa(liquid.vapour_pressure, flash_c))
    return saturated_percent / STANDARD_KPA / limit_at_percent(limit.percent, flash_c)


def saturation_check(liquid: Liquid, flash_c: float) -> SaturationCheck | None:
    """Compare a flash point (101.3 kPa) with the flammable limit; None where either is unknown."""
    limit = lower_limit(liquid)
    if limit is None or liquid.role != "flammable":
        return None
    ratio = saturation_over_limit(liquid, flash_c, limit)
    if ratio is None:
        return None
    row = bands()["estimated" if limit.is_estimated else limit.form]
    low, median, high = (float(row[key]) for key in ("low", "median", "high"))
    return SaturationCheck(ratio, low, median, high, int(row["liquids"]), limit)


@cache
def bands() -> dict[str, dict[str, str]]:
    """Return the band for limits on record and for estimated ones, with how many liquids."""
    rows = load_rows(data_file("saturation_band.csv"), bibliography())
    return {row["limit"]: row for row in rows}
