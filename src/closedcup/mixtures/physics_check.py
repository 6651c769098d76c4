"""Does a flash point agree with the flammable limit? At it, the vapour should be near the limit.

A value outside the band that nine of ten well-known liquids keep points to a wrong flash
point, a wrong limit, or a vapour unlike others (formic acid is a dimer). It is a warning while
data are entered; it proves nothing.
"""

from dataclasses import dataclass
from functools import cache

from closedcup.mixtures.liquids import Liquid, bibliography, data_file
from closedcup.mixtures.pure_estimates import limit_at_percent
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

    @property
    def is_usual(self) -> bool:
        """Whether the ratio lies inside the band."""
        return self.low <= self.ratio <= self.high

    @property
    def text(self) -> str:
        """Say it in a sentence."""
        usual = f"usually {self.low:g} to {self.high:g}, {self.liquids} liquids"
        says = f"Saturated vapour at this flash point is {self.ratio:.2f} × the flammable limit"
        if self.is_usual:
            return f"{says} ({usual})."
        return f"{says}, which is unusual ({usual}): check the flash point and the limit."


def saturation_over_limit(liquid: Liquid, flash_c: float) -> float | None:
    """Return the ratio, or None without a vapour pressure or a flammable limit on record."""
    limit = liquid.properties.get("lfl_percent")
    if limit is None or liquid.vapour_pressure is None:
        return None
    saturated_percent = 100 * float(vapour_pressure_kpa(liquid.vapour_pressure, flash_c))
    return saturated_percent / STANDARD_KPA / limit_at_percent(limit.value, flash_c)


def saturation_check(liquid: Liquid, flash_c: float) -> SaturationCheck | None:
    """Compare a flash point (101.3 kPa) with the flammable limit; None where either is unknown."""
    ratio = saturation_over_limit(liquid, flash_c)
    if ratio is None or liquid.role != "flammable":
        return None
    row = band()
    return SaturationCheck(
        ratio, float(row["low"]), float(row["median"]), float(row["high"]), int(row["liquids"])
    )


@cache
def band() -> dict[str, str]:
    """Return the band and how many liquids it was measured on."""
    return load_rows(data_file("saturation_band.csv"), bibliography())[0]
