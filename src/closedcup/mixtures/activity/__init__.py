"""Activity coefficients in a liquid: one model, one file.

A model is made for a tuple of liquids and answers ln γ for whole arrays of compositions, each at
its own temperature. Models know nothing of flash points.
"""

from collections.abc import Callable, Mapping, Sequence
from typing import Final, Protocol

import numpy as np
from numpy.typing import NDArray

from closedcup.errors import InputError
from closedcup.mixtures.activity.ideal import Ideal
from closedcup.mixtures.activity.unifac import Unifac
from closedcup.mixtures.liquids import Liquid

Array = NDArray[np.float64]

__all__ = ["MODELS", "ActivityModel", "Ideal", "Unifac", "activity_model"]


class ActivityModel(Protocol):
    """What every model of the activity coefficients can do."""

    name: str
    source: str

    def ln_gamma(self, mole_fractions: Array, temperature_k: Array) -> Array:
        """Return ln γ, shape (rows, liquids), for compositions of that shape and (rows,) kelvin."""
        ...


MODELS: Final[Mapping[str, Callable[[Sequence[Liquid]], ActivityModel]]] = {
    "unifac": Unifac,
    "ideal": Ideal,
}


def activity_model(name: str, liquids: Sequence[Liquid]) -> ActivityModel:
    """Make a model by its name for these liquids.

    Raises InputError for an unknown name, Refused where the model lacks parameters for them.
    """
    if name not in MODELS:
        raise InputError(
            "activity-unknown",
            f"“{name}” is not an activity model.",
            where="activity",
            fix=f"Use one of: {', '.join(MODELS)}.",
        )
    return MODELS[name](liquids)
