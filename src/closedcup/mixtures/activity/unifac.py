"""The original UNIFAC model of activity coefficients.

Fredenslund, Jones and Prausnitz, AIChE J. 21 (1975) 1086, with the group interactions published
up to 2003.
"""

from collections.abc import Sequence
from functools import cache

from closedcup.mixtures.activity.group_contribution import (
    GroupContribution,
    GroupTable,
    load_table,
)
from closedcup.mixtures.liquids import Liquid
from closedcup.sources import Known


@cache
def table() -> GroupTable:
    """Return the published groups and interactions."""
    return load_table("UNIFAC", "unifac", 1.0)


class Unifac(GroupContribution):
    """Original UNIFAC for a fixed tuple of liquids.

    Validity: vapour–liquid equilibrium, roughly 290 to 420 K and low pressure; it is a poor guide
    to mutual solubilities. Raises Refused where a liquid has no groups, or where the interaction
    of two groups was never published (it is not taken as zero).
    """

    name = "unifac"
    source = "unifac-original"
    known: Known = "package"

    def __init__(self, liquids: Sequence[Liquid]) -> None:
        super().__init__(table(), liquids, [liquid.subgroups for liquid in liquids])
