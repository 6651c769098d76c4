"""Liquids and blends: what is known of them, and the flash point that they should have.

Here live the catalogue of liquids (`liquids`, `names`, `consensus`, `hazards`), the laboratory's
own liquids, estimates of pure values that no table has (`pure_estimates`), blends (`blend`),
vapour pressure, activity (one model, one file), the parting into two liquids (`phase_split`,
`two_liquids`), the root of Liaw's sum (`flash_point`), its interval, and the `estimate` with its
explanation. Every number is in `data`, with its source; `tools/build_liquids.py` makes the
tables. Never here: test methods, records, users, or anything measured in a laboratory.
"""

from closedcup.mixtures.activity import (
    MODELS,
    ActivityModel,
    PairParameters,
    activity_model,
    parse_parameters,
)
from closedcup.mixtures.blend import BASES, Basis, Blend, blend
from closedcup.mixtures.consensus import CUP_FAMILIES, FlashConsensus, FlashValue, consensus
from closedcup.mixtures.estimate import Component, Estimate, estimate
from closedcup.mixtures.flash_point import FlashRoots, flash_points_c
from closedcup.mixtures.hazards import HAZARDS, Hazard, hazards_in_words
from closedcup.mixtures.interval import Part
from closedcup.mixtures.liquids import Liquid, catalogue
from closedcup.mixtures.model_spread import OtherModel
from closedcup.mixtures.names import find
from closedcup.mixtures.own_liquids import own_liquids, own_warnings
from closedcup.mixtures.physics_check import SaturationCheck, saturation_check
from closedcup.mixtures.pure_estimates import PureEstimate, best_estimate, pure_estimates
from closedcup.mixtures.pure_values import consensus_of
from closedcup.mixtures.vapour_pressure import Correlation, vapour_pressure_kpa

__all__ = [
    "BASES",
    "CUP_FAMILIES",
    "HAZARDS",
    "MODELS",
    "ActivityModel",
    "Basis",
    "Blend",
    "Component",
    "Correlation",
    "Estimate",
    "FlashConsensus",
    "FlashRoots",
    "FlashValue",
    "Hazard",
    "Liquid",
    "OtherModel",
    "PairParameters",
    "Part",
    "PureEstimate",
    "SaturationCheck",
    "activity_model",
    "best_estimate",
    "blend",
    "catalogue",
    "consensus",
    "consensus_of",
    "estimate",
    "find",
    "flash_points_c",
    "hazards_in_words",
    "own_liquids",
    "own_warnings",
    "parse_parameters",
    "pure_estimates",
    "saturation_check",
    "vapour_pressure_kpa",
]
