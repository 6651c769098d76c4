"""The modified UNIFAC model (Dortmund) of activity coefficients.

Weidlich and Gmehling, Ind. Eng. Chem. Res. 26 (1987) 1372: volumes to the power 3/4 in the
combinatorial part, and group interactions that depend on temperature, here of the table of 2006.
Its groups differ from the original's (alcohols by degree, cyclic carbons), so liquids have an
assignment of their own.
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
    return load_table("Modified UNIFAC (Dortmund)", "unifac_dortmund", 0.75)


class Dortmund(GroupContribution):
    """Modified UNIFAC (Dortmund) for a fixed tuple of liquids.

    Validity: vapour–liquid, solid–liquid and infinite-dilution data, roughly 290 to 420 K. Raises
    Refused where a liquid has no groups, or where the interaction of two groups was never
    published (it is not taken as zero).
    """

    name = "dortmund"
    source = "unifac-dortmund-2006"
    known: Known = "package"

    def __init__(self, liquids: Sequence[Liquid]) -> None:
        groups = [liquid.dortmund_subgroups for liquid in liquids]
        super().__init__(table(), liquids, groups)
