"""A sample: what arrived, what it is said to be made of, how it was kept and how much there is."""

from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

Trust = Literal["declared", "measured", "unknown"]
Basis = Literal["mole", "mass", "volume"]


@dataclass(frozen=True, slots=True)
class Component:
    """One named part of a composition and its fraction of the whole."""

    name: str
    fraction: Decimal


@dataclass(frozen=True, slots=True)
class Composition:
    """What the sample is said to contain, on which basis, and how far that is trusted."""

    trust: Trust
    basis: Basis = "mass"
    components: tuple[Component, ...] = ()


@dataclass(frozen=True, slots=True)
class PastResult:
    """An earlier flash point of this product or source, corrected to 101.3 kPa."""

    corrected_c: Decimal
    what: str


@dataclass(frozen=True, slots=True)
class Evidence:
    """A property that a relief rule or a classification needs, with its method and date.

    `name` is a keyword of the classification's evidence ("boiling_c", "sustains_combustion",
    "viscosity_mm2_s", …) and `value` its value in that keyword's unit, as text.
    """

    name: str
    value: str
    method: str
    determined_on: str


@dataclass(frozen=True, slots=True)
class Sample:
    """One container as received.

    `kind` is the product kind in the words of the methods' precision tables, `product` the one in
    the words of the rules that classify it (diesel, marine fuel); `suspected` names contaminants
    (petrol in diesel); `hazards` are flags typed at the desk in the stop list's words; `volume_ml`
    is what there was on receipt. `in_doubt`: its condition was questioned on receipt. `due` and
    `keep_until` are days; `keep_days` count from the last report; `kept_back_ml` is not tested
    but kept for a dispute.
    """

    id: str
    description: str
    customer: str
    customer_contact: str
    received_at: str
    condition: str
    container: str
    volume_ml: Decimal
    composition: Composition
    kind: str = ""
    product: str = ""
    fill_percent: Decimal | None = None
    arrived_c: Decimal | None = None
    sampled_at: str = ""
    sampling: str = ""
    is_waste: bool = False
    suspected: tuple[str, ...] = ()
    hazards: tuple[str, ...] = ()
    history: tuple[PastResult, ...] = ()
    priority: str = ""
    due: str = ""
    in_doubt: bool = False
    keep_until: str = ""
    keep_days: int | None = None
    kept_back_ml: Decimal | None = None
