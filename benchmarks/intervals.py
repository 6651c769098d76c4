"""How good the intervals and the models are on published blends, one series left out at a time."""

import numpy as np

from closedcup.app.validation.interval_scores import (
    left_out,
    mean_deviations,
    mean_off_c,
    scores,
    sets_of_series,
    shipped,
)
from closedcup.app.validation.published_blends import all_series

# A series further off than this must be explained (`blend_systems.csv`).
EXPLAINED_FROM_C = 4.0


def print_scores() -> None:
    for activity in ("default", "unifac", "dortmund"):
        for name, chosen in sets_of_series().items():
            points = sum(len(all_series()[names].points) for names in chosen)
            print(f"{activity}: {len(chosen)} published series ({name}), {points} points")
            print(f"{'interval':<38} {'covers':>7} {'half width':>11} {'score':>11}")
            for found in scores(activity, chosen):
                print(found.text())


def print_series() -> None:
    print("mean absolute deviation, °C: own end points, consensus as shipped and left out")
    for names, series in all_series().items():
        model = "dortmund" if series.is_aqueous else "unifac"
        own = float(np.mean(np.abs(series.errors_c(model))))
        ready, strict = shipped()[names], left_out()[names]
        inside = sum(each.low_c <= each.published_c <= each.high_c for each in strict)
        print(
            f"{series.name:<34} {own:5.1f} {mean_off_c(ready):5.1f} {mean_off_c(strict):5.1f}, "
            f"{inside} of {len(strict)} inside"
        )
        if mean_off_c(strict) > EXPLAINED_FROM_C:
            print(f"    {series.explanation or 'NOT EXPLAINED'}")


def main() -> None:
    print_scores()
    print_series()
    for name, found in mean_deviations().items():
        print(f"mean absolute deviation, {name}: {found:.2f} °C")


if __name__ == "__main__":
    main()
