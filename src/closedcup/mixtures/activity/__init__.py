"""Activity coefficients in a liquid: one model, one file.

A model is made for a tuple of liquids and answers ln γ for whole arrays of compositions, each at
its own temperature. Models know nothing of flash points. Group-contribution models and the ideal
form need no more than the liquids; NRTL, Wilson and UNIQUAC need `PairParameters` of the user.
"""

from collections.abc import Callable, Mapping, Sequence
from typing import Final, Protocol

import numpy as np
from numpy.typing import NDArray

from closedcup.errors import InputError, Refused
from closedcup.mixtures.activity.dortmund import Dortmund
from closedcup.mixtures.activity.ideal import Ideal
from closedcup.mixtures.activity.nrtl import Nrtl
from closedcup.mixtures.activity.pair_parameters import PairParameters, parse_parameters
from closedcup.mixtures.activity.unifac import Unifac
from closedcup.mixtures.activity.uniquac import Uniquac
from closedcup.mixtures.activity.wilson import Wilson
from closedcup.mixtures.liquids import Liquid
from closedcup.sources import Known

Array = NDArray[np.float64]

__all__ = [
    "DEFAULT",
    "MODELS",
    "ActivityModel",
    "Dortmund",
    "Ideal",
    "Nrtl",
    "PairParameters",
    "Unifac",
    "Uniquac",
    "Wilson",
    "activity_model",
    "parse_parameters",
]


class ActivityModel(Protocol):
    """What every model of the activity coefficients can do."""

    name: str
    source: str
    known: Known

    def ln_gamma(self, mole_fractions: Array, temperature_k: Array) -> Array:
        """Return ln γ, shape (rows, liquids), for compositions of that shape and (rows,) kelvin."""
        ...


MODELS: Final[Mapping[str, Callable[[Sequence[Liquid]], ActivityModel]]] = {
    "unifac": Unifac,
    "dortmund": Dortmund,
    "ideal": Ideal,
}
# The name that stands for the model preferred for the liquids at hand.
DEFAULT: Final = "default"
_WITH_PARAMETERS: Final[
    Mapping[str, Callable[[Sequence[Liquid], PairParameters], ActivityModel]]
] = {"nrtl": Nrtl, "wilson": Wilson, "uniquac": Uniquac}


def activity_model(
    name: str, liquids: Sequence[Liquid], parameters: PairParameters | None = None
) -> ActivityModel:
    """Make a model by its name for these liquids; with `parameters`, the model that they are for.

    "default" is the modified form where an inert liquid (water) is among them, else the original:
    dilute aqueous blends depend on activities at infinite dilution, which only the modified form
    was fitted to. Where the preferred one lacks parameters the other stands in.
    Raises InputError for an unknown name, Refused where the model lacks parameters for them.
    """
    if parameters is not None:
        return _WITH_PARAMETERS[parameters.model](liquids, parameters)
    if name == DEFAULT:
        return _preferred(liquids)
    if name not in MODELS:
        needs = " It needs a file of parameters." if name in _WITH_PARAMETERS else ""
        raise InputError(
            "activity-unknown",
            f"“{name}” is not an activity model that can stand alone.{needs}",
            where="activity",
            fix=f"Use one of: {', '.join(MODELS)}.",
        )
    return MODELS[name](liquids)


def _preferred(liquids: Sequence[Liquid]) -> ActivityModel:
    aqueous = any(liquid.role == "inert" for liquid in liquids)
    first, second = (Dortmund, Unifac) if aqueous else (Unifac, Dortmund)
    try:
        return first(liquids)
    except Refused as refused:
        try:
            return second(liquids)
        except Refused:
            raise refused from None
