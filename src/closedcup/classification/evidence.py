"""What is known about a sample when it is classified; what is not known stays None."""

import math
from dataclasses import dataclass, fields
from typing import Final, Literal

from closedcup.errors import InputError, Refused

Mode = Literal["road", "sea", "air", "ground"]

# How each piece of evidence is asked for when it is missing.
LABELS: Final = {
    "flash": "finite flash point",
    "boiling": "initial boiling point",
    "fire_point": "fire point (open cup)",
    "flash_above_carriage": "temperature at which it is offered for carriage",
    "flash_above_use": "temperature at which it is used",
    "viscosity_mm2_s": "kinematic viscosity at 23 °C",
    "flow_time_s": "flow time",
    "cup_jet_mm": "jet of the flow cup",
    "separation_percent": "clear solvent layer in the separation test",
    "other_hazards": "whether it is toxic (6.1) or corrosive (8)",
    "environmentally_hazardous": "whether it is environmentally hazardous",
    "nitrocellulose_percent": "nitrocellulose content",
    "class3_percent": "content of class 3 substances",
    "sustains_combustion": "whether it sustains combustion",
    "water_mass_percent": "water content by mass",
    "water_miscible": "whether it is a water-miscible solution",
    "alcohol_volume_percent": "alcohol content by volume",
    "high_flash_volume_percent": "volume share of components with a higher flash point",
    "receptacle_l": "size of the receptacle",
    "product": "product kind",
    "mode": "mode of carriage",
    "bulk": "whether it is carried in bulk",
    "aerosol": "whether it is an aerosol",
    "other_class_first": "whether it is an explosive, an organic peroxide or self-reactive",
    "vapour_pressure_50_kpa": "vapour pressure at 50 °C",
    "melting": "melting point",
    "burns": "whether it burns at all",
    "open_cup": "open-cup flash point",
    "reid_vapour_pressure_kpa": "Reid vapour pressure",
}

_PERCENTAGES: Final = tuple(name for name in LABELS if name.endswith("_percent"))
_POSITIVE: Final = (
    "viscosity_mm2_s",
    "flow_time_s",
    "cup_jet_mm",
    "receptacle_l",
    "vapour_pressure_50_kpa",
    "reid_vapour_pressure_kpa",
)
# How far the result may lie from the truth: it gives chances and margins, never a class.
_PRECISION: Final = {
    "standard_uncertainty_c": "standard uncertainty",
    "reproducibility_c": "reproducibility",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Evidence:
    """The evidence for a classification. Temperatures in °C; None is "not known".

    `flash_c` is the closed-cup flash point corrected to 101.3 kPa, unrounded; `reported_c` the
    same after the method's rounding. A flash/no-flash test gives no value but a side instead:
    `no_flash_at_c` (the flash point lies above it) or `flash_at_c` (at or below it), both on the
    corrected scale.

    `standard_uncertainty_c` and `reproducibility_c` say how far the value may lie from the truth.
    They give the chance of each class and the margin in units of R; no class rests on them.

    `viscosity_mm2_s` is kinematic, at 23 °C and near-zero shear; `flow_time_s` belongs to a flow
    cup with a jet of `cup_jet_mm`. `halogenated` means a halogenated component that can mask or
    distort a flash. `mode` "ground" is carriage inside the United States by road or rail.

    Raises InputError for a value that is not finite, a percentage outside 0 to 100, a size that
    is not positive. (That two pieces contradict each other is told when they are classified.)
    """

    flash_c: float | None = None
    reported_c: float | None = None
    no_flash_at_c: float | None = None
    flash_at_c: float | None = None
    method_id: str | None = None
    calculated: bool = False
    no_flash_to_boiling: bool = False
    masked: bool = False
    halogenated: bool = False
    standard_uncertainty_c: float | None = None
    reproducibility_c: float | None = None

    boiling_c: float | None = None
    fire_point_c: float | None = None
    open_cup_c: float | None = None
    melting_c: float | None = None
    vapour_pressure_50_kpa: float | None = None
    reid_vapour_pressure_kpa: float | None = None
    aerosol: bool | None = None
    other_class_first: bool | None = None
    burns: bool | None = None
    sustains_combustion: bool | None = None
    viscosity_mm2_s: float | None = None
    flow_time_s: float | None = None
    cup_jet_mm: float | None = None
    separation_percent: float | None = None
    other_hazards: bool | None = None
    environmentally_hazardous: bool | None = None
    nitrocellulose_percent: float | None = None
    class3_percent: float | None = None
    water_mass_percent: float | None = None
    water_miscible: bool | None = None
    alcohol_volume_percent: float | None = None
    high_flash_volume_percent: float | None = None

    product: str | None = None
    carried_at_c: float | None = None
    used_at_c: float | None = None
    receptacle_l: float | None = None
    bulk: bool | None = None
    mode: Mode | None = None

    def __post_init__(self) -> None:
        for field in fields(self):
            value = getattr(self, field.name)
            if isinstance(value, float) and not math.isfinite(value):
                raise InputError("not-finite", f"{field.name} is {value}.", where=field.name)
        for name in _PERCENTAGES:
            percent = getattr(self, name)
            if percent is not None and not 0 <= percent <= 100:
                raise InputError(
                    "impossible-percentage",
                    f"The {LABELS[name]} cannot be {percent:g} %.",
                    where=name,
                    fix="Enter a percentage from 0 to 100.",
                )
        for name in (*_POSITIVE, *_PRECISION):
            value = getattr(self, name)
            if value is not None and value <= 0:
                label = LABELS.get(name) or _PRECISION[name]
                raise InputError(
                    "not-positive",
                    f"The {label} cannot be {value:g}.",
                    where=name,
                    fix="Enter a value above zero.",
                )

    def flash_bracket(self) -> tuple[float, float]:
        """Return the bounds of the flash point: above the first, at or below the second.

        Both are the same number where the flash point is a value.
        """
        if self.flash_c is not None:
            return self.flash_c, self.flash_c
        low = -math.inf if self.no_flash_at_c is None else self.no_flash_at_c
        high = math.inf if self.flash_at_c is None else self.flash_at_c
        return low, high


def require_flash_point(evidence: Evidence) -> None:
    """Raise Refused where the evidence allows no class, InputError where it holds no flash point.

    "No flash" is never turned into "not flammable": the absence of a closed-cup flash does not
    show that a liquid cannot burn (E502 and the scopes of ISO 1523 and ISO 13736 say so; read).
    """
    reason = ""
    if evidence.no_flash_to_boiling:
        reason = "It did not flash up to its boiling point; that is not a flash point"
    elif evidence.masked:
        reason = "The flash was masked (swollen or coloured flame); no flash point was found"
    elif evidence.halogenated:
        reason = "A halogenated component can mask or distort the flash in a closed cup"
    if reason:
        raise Refused(
            "no-class",
            f"{reason}, and it does not show that the liquid is not flammable.",
            where="classification",
            fix="Report what was observed and the highest temperature tried; have the hazard "
            "judged from the composition and from flammable limits.",
        )
    if evidence.flash_bracket() == (-math.inf, math.inf):
        raise InputError(
            "flash-point-missing",
            "There is no flash point to classify.",
            where="flash",
            fix="Give the corrected closed-cup flash point, or where it flashed or did not.",
        )
