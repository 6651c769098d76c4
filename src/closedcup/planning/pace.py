"""How long a bench takes from one specimen to the next, and what a plan weighs against minutes."""

from dataclasses import dataclass
from functools import cache
from importlib.resources import files

import numpy as np
import numpy.typing as npt

from closedcup.errors import InputError
from closedcup.planning.observing import Floats
from closedcup.sources import Cited, load_bibliography, load_rows, parse_known


@dataclass(frozen=True, slots=True)
class Pace:
    """Rates of the apparatus and times of the analyst.

    The cup travels to its next temperature while it is cleaned; then the specimen is loaded and
    dwells. dwell_min: the method's. at_cup_c: what the cup shows before the first specimen.
    """

    heats_c_per_min: float
    cools_c_per_min: float
    cleaning_min: float
    loading_min: float
    dwell_min: float = 1.0
    at_cup_c: float = 25.0

    def __post_init__(self) -> None:
        if not (self.heats_c_per_min > 0 and self.cools_c_per_min > 0):
            raise InputError(
                "rate-impossible",
                "A cup that neither heats nor cools reaches no temperature.",
                where="apparatus",
                fix="Give its heating and cooling rates in °C per minute.",
            )

    def travel_min(self, from_cup_c: npt.ArrayLike, to_cup_c: npt.ArrayLike) -> Floats:
        """Return the minutes that the cup needs from one temperature to another."""
        up_c = np.asarray(to_cup_c, dtype=float) - np.asarray(from_cup_c, dtype=float)
        return np.asarray(
            np.where(up_c >= 0, up_c / self.heats_c_per_min, -up_c / self.cools_c_per_min)
        )

    def specimen_min(
        self, from_cup_c: npt.ArrayLike, to_cup_c: npt.ArrayLike, *, first: npt.ArrayLike
    ) -> Floats:
        """Return the minutes that a specimen takes; before the first one nothing is cleaned."""
        cleaning = np.where(np.asarray(first), 0.0, self.cleaning_min)
        travel = self.travel_min(from_cup_c, to_cup_c)
        return np.maximum(cleaning, travel) + self.loading_min + self.dwell_min


@dataclass(frozen=True, slots=True)
class Weights:
    """What a specimen and an overshoot cost beside their minutes, in minutes.

    An overshoot is a specimen tested more than `overshoot_c` above the flash point.
    """

    specimen_min: float
    overshoot_min: float
    overshoot_c: float


def usual_pace(*, dwell_min: float = 1.0, at_cup_c: float = 25.0) -> Pace:
    """Return the pace of `data/bench_pace.csv`; a laboratory's own rates replace it."""
    known = pace_numbers()
    return Pace(
        heats_c_per_min=known["heats"].value,
        cools_c_per_min=known["cools"].value,
        cleaning_min=known["cleaning"].value,
        loading_min=known["loading"].value,
        dwell_min=dwell_min,
        at_cup_c=at_cup_c,
    )


def usual_weights() -> Weights:
    """Return the weights of `data/bench_pace.csv`."""
    known = pace_numbers()
    return Weights(
        specimen_min=known["specimen_weight"].value,
        overshoot_min=known["overshoot_weight"].value,
        overshoot_c=known["overshoot"].value,
    )


@cache
def pace_numbers() -> dict[str, Cited]:
    """Return the numbers of `data/bench_pace.csv` with where they come from."""
    folder = files("closedcup.planning") / "data"
    rows = load_rows(folder / "bench_pace.csv", load_bibliography(folder / "sources.csv"))
    return {
        row["name"]: Cited(
            value=float(row["value"]),
            unit=row["unit"],
            source=row["source"],
            known=parse_known(row["known"], where=f"bench_pace.csv, {row['name']}"),
        )
        for row in rows
    }
