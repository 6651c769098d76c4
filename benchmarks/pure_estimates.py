"""How well an estimated pure flash point does on liquids that had no say in its error.

The well-known liquids (three families of sources or more) are dealt into two halves, twenty times.
One half measures the errors and chooses the form for each class, as the catalogue does; the other
half is estimated. Printed: how many lie within the half width that would have been shown.
"""

import numpy as np

from closedcup.mixtures import catalogue
from closedcup.mixtures.consensus import ENOUGH_FAMILIES
from closedcup.mixtures.pure_estimates import ENOUGH_LIQUIDS, FORMS, within_95

ROUNDS = 20
Error = tuple[float, float]


def known_liquids() -> list[tuple[str, float, dict[str, float]]]:
    """Return class, consensus value and what each valid form gives."""
    found = []
    for liquid in catalogue().values():
        consensus = liquid.flash_point()
        if liquid.role != "flammable" or consensus is None:
            continue
        if len(consensus.families) >= ENOUGH_FAMILIES:
            values = {
                name: value for name, form in FORMS.items() if (value := form(liquid)) is not None
            }
            found.append((liquid.chemical_class, consensus.value_c, values))
    return found


def measured(liquids: list[tuple[str, float, dict[str, float]]]) -> dict[tuple[str, str], Error]:
    """Return mean error and 95 % distance of each form and class, as the catalogue does."""
    errors: dict[tuple[str, str], list[float]] = {}
    for chemical_class, value_c, values in liquids:
        for form, made in values.items():
            for group in ("all", chemical_class):
                errors.setdefault((form, group), []).append(abs(made - value_c))
    return {
        key: (float(np.mean(found)), within_95(found))
        for key, found in errors.items()
        if key[1] == "all" or len(found) >= ENOUGH_LIQUIDS
    }


def main() -> None:
    rng = np.random.default_rng(20260301)
    liquids = known_liquids()
    inside, distances, shown = [], [], []
    for _ in range(ROUNDS):
        order = rng.permutation(len(liquids))
        half = len(liquids) // 2
        table = measured([liquids[i] for i in order[:half]])
        for i in order[half:]:
            chemical_class, value_c, values = liquids[i]
            found = [
                (*table.get((form, chemical_class), table[form, "all"]), made)
                for form, made in values.items()
            ]
            if found:
                _, width, made = min(found)
                inside.append(abs(made - value_c) <= width)
                distances.append(abs(made - value_c))
                shown.append(width)
    print(f"pure estimates, {len(liquids)} liquids, {ROUNDS} random halves: ", end="")
    print(f"{np.mean(inside):.1%} within the half width shown (nominal 95 %), ", end="")
    print(f"mean error {np.mean(distances):.1f} °C, median {np.median(distances):.1f} °C, ", end="")
    print(f"median half width {np.median(shown):.1f} °C")


if __name__ == "__main__":
    main()
