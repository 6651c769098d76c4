"""Liquids and blends: what is known of them, and the flash point that they should have.

Here live the catalogue of liquids (`liquids`, `names`, `consensus`, `hazards`), blends (`blend`),
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
    "activity_model",
    "blend",
    "catalogue",
    "consensus",
    "estimate",
    "find",
    "flash_points_c",
    "hazards_in_words",
    "parse_parameters",
    "vapour_pressure_kpa",
]
