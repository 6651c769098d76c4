"""A result that was not determined at this laboratory's bench with this program."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal


@dataclass(frozen=True, slots=True)
class OutsideResult:
    """A flash point that another laboratory, an earlier system or an apparatus's own file gives.

    It is kept as it was given, with where it came from; it is never released or reported as this
    laboratory's result. `corrected_c` is at 101.3 kPa, `given` the text it was read from; `sample`
    is the one it is said to be of, here or elsewhere.
    """

    id: str
    sample: str
    method: str
    corrected_c: Decimal
    given: str
    tested_on: str
    product: str = ""
    laboratory: str = ""
    analyst: str = ""
    apparatus: str = ""
    remarks: str = ""


@dataclass(frozen=True, slots=True)
class OwnLiquid:
    """The laboratory's own values of a liquid, by the keys of `mixtures.own_liquids`."""

    liquid: str
    values: Mapping[str, str]
