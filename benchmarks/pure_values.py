"""How well the interval of a consensus flash point does on a table that had no say in it.

For each well-known liquid one table at a time is left out, of those that state or keep closed-cup
figures; the median and its interval come from the other families alone. Tables copy each other
and hold slips of their own, so a point outside need not be the consensus's fault.
"""

import statistics

import numpy as np

from closedcup.mixtures import catalogue
from closedcup.mixtures.consensus import (
    ENOUGH_FAMILIES,
    GROSS_C,
    HANDBOOK_CUPS,
    agreement_half_width_c,
)

LEFT_OUT = frozenset({
    "iec-60079-20-1", "nfpa-497", "niosh", "epa", "national-academies", "blend-series"
})  # fmt: skip


def offsets() -> list[tuple[int, float, float]]:
    """Return the families left, the distance of the table left out, and the half width."""
    found = []
    for liquid in catalogue().values():
        if liquid.role != "flammable":
            continue
        usable = [
            value
            for value in liquid.flash_values
            if value.cup in HANDBOOK_CUPS and not value.rejected and value.known != "memory"
        ]
        medians = {
            family: statistics.median(v.value_c for v in usable if v.family == family)
            for family in {value.family for value in usable}
        }
        for family in LEFT_OUT & set(medians):
            others = [value for name, value in medians.items() if name != family]
            if len(others) < ENOUGH_FAMILIES:
                continue
            middle = statistics.median(others)
            off_c = abs(medians[family] - middle)
            width_c = agreement_half_width_c([value - middle for value in others])
            found.append((len(others), off_c, width_c))
    return found


def main() -> None:
    families, off_c, width_c = np.array(offsets()).T
    score_c = 2 * width_c + 40 * np.maximum(off_c - width_c, 0)
    for low, high, name in (
        (3, 4, "3 or 4"),
        (5, 8, "5 to 8"),
        (9, 99, "9 or more"),
        (3, 99, "all"),
    ):
        chosen = (families >= low) & (families <= high)
        print(
            f"consensus of {name:<10} families: {chosen.sum():>4} tables left out, "
            f"{np.mean(off_c[chosen] <= width_c[chosen]):.0%} inside, median half width "
            f"{np.median(width_c[chosen]):.1f} °C, interval score {score_c[chosen].mean():.0f} °C, "
            f"{np.mean(off_c[chosen] > GROSS_C):.1%} more than {GROSS_C:g} °C off"
        )


if __name__ == "__main__":
    main()
