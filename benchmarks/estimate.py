"""Estimates: ten thousand blends at once beside a loop over a library, and one at a time.

Run with `.venv/bin/python benchmarks/estimate.py`. The loop makes the same sum from `thermo`'s
UNIFAC, the same vapour-pressure equations written with `math`, and `scipy`'s brentq; its time is
measured on a sample of the rows and extrapolated.
"""

import math
import time
from collections.abc import Callable
from importlib.metadata import version

import numpy as np
from scipy.optimize import brentq  # noqa: TID251 - the independent solver
from thermo.unifac import UFIP, UFSG, UNIFAC, load_unifac_ip

from closedcup.mixtures import blend, estimate, find, flash_points_c
from closedcup.mixtures.flash_point import make_sum, solve
from closedcup.mixtures.liquids import Liquid
from closedcup.mixtures.sweep import sweep
from closedcup.mixtures.ternary_map import ternary_map
from closedcup.quantities.pressure import STANDARD_KPA

NAMES = ("ethanol", "water", "butanone", "toluene")
ROWS, LOOP_ROWS, KELVIN = 10_000, 100, 273.15
TARGET_RATIO, TARGET_C = 300, 1e-3


def best_s(action: Callable[[], object], runs: int = 5) -> float:
    """Time an action; the best of several runs."""
    times = []
    for _ in range(runs):
        start = time.perf_counter()
        action()
        times.append(time.perf_counter() - start)
    return min(times)


def wagner_pa(liquid: Liquid, kelvin: float) -> float:
    a, b, c, d, critical_k, critical_pa = liquid.vapour_pressure.constants
    t = 1 - kelvin / critical_k
    return critical_pa * math.exp((a * t + b * t**1.5 + c * t**2.5 + d * t**5) / (1 - t))


def loop_c(rows: np.ndarray, liquids: list[Liquid]) -> list[float]:
    """Solve each row by brentq on thermo's UNIFAC, re-using its object."""
    load_unifac_ip()
    model = UNIFAC.from_subgroups(
        T=300.0, xs=[0.25] * 4, chemgroups=[dict(liquid.subgroups) for liquid in liquids],
        version=0, subgroups=UFSG, interaction_data=UFIP,
    )  # fmt: skip
    burning = [i for i, liquid in enumerate(liquids) if liquid.role == "flammable"]
    at_flash = {
        i: wagner_pa(liquids[i], liquids[i].flash_point().value_c + KELVIN) for i in burning
    }

    def excess(kelvin: float, x: list[float]) -> float:
        gammas = model.to_T_xs(kelvin, x).gammas()
        terms = (x[i] * gammas[i] * wagner_pa(liquids[i], kelvin) / at_flash[i] for i in burning)
        return math.log(sum(terms))

    return [brentq(excess, 230, 420, args=(x.tolist(),), xtol=1e-6) - KELVIN for x in rows]


def growth() -> None:
    """Print the time per blend as the number of blends grows: it should stay the same."""
    liquids = [find(name) for name in NAMES]
    print("Time per blend as rows grow")
    for activity in ("unifac", "dortmund"):
        ready = make_sum(liquids, activity=activity)
        for count in (10_000, 100_000, 400_000):
            rows = np.random.default_rng(21).dirichlet(np.ones(4), count)
            seconds = best_s(lambda x=rows, made=ready: solve(made, x, STANDARD_KPA), 3)
            print(f"  {activity:<9} {count:>9,} rows   {seconds / count * 1e6:9.2f} µs")


def maps() -> None:
    """Print the time of a map of 5,151 blends, where nothing parts and where much does."""
    print("Ternary map of 5,151 blends, parted liquids looked for")
    for names in (
        ("ethanol", "toluene", "acetone"),
        ("water", "ethanol", "acetone"),
        ("water", "1-butanol", "acetone"),
        ("water", "toluene", "ethanol"),
        ("methanol", "heptane", "toluene"),
        ("water", "heptane", "methanol"),
    ):
        made = sweep([find(name) for name in names])
        seconds = best_s(lambda ready=made: ternary_map(ready), 2)
        parted = int((ternary_map(made).swept.liquid_phases > 1).sum())
        print(f"  {', '.join(names):<28} {seconds * 1e3:9.0f} ms, {parted} part, 300 ms allowed")


def main() -> dict[str, float]:
    """Print absolute times and the ratio; return them."""
    liquids = [find(name) for name in NAMES]
    rows = np.random.default_rng(20).dirichlet(np.ones(4), ROWS)
    ready_s = best_s(lambda: make_sum(liquids, activity="unifac"))
    ready = make_sum(liquids, activity="unifac")
    batch_s = best_s(lambda: solve(ready, rows, STANDARD_KPA), 15)
    start = time.perf_counter()
    theirs = loop_c(rows[:LOOP_ROWS], liquids)
    loop_s = (time.perf_counter() - start) * ROWS / LOOP_ROWS
    found = flash_points_c(rows, liquids, activity="unifac")
    apart_c = float(np.abs(found.flash_c[:LOOP_ROWS] - theirs).max())
    made = {
        "one liquid": blend(["ethanol=1"]),
        "four components": blend([f"{name}=0.25" for name in NAMES]),
        "two liquids": blend(["water=0.7", "1-butanol=0.3"]),
    }
    single_s = {name: best_s(lambda item=item: estimate(item)) for name, item in made.items()}
    print(f"10,000 blends of {', '.join(NAMES)} (UNIFAC)")
    print(f"  at once                    {batch_s * 1e3:9.1f} ms, best of 15")
    print(f"  liquids made ready         {ready_s * 1e3:9.1f} ms, once for any number of blends")
    print(f"  evaluations per blend      {found.evaluations / ROWS:9.2f}")
    print(
        f"  thermo {version('thermo')} + brentq loop {loop_s * 1e3:9.0f} ms, "
        f"extrapolated from {LOOP_ROWS} blends"
    )
    print(f"  ratio                      {loop_s / batch_s:9.0f} ×, at least {TARGET_RATIO} wanted")
    print(f"  largest difference         {apart_c:9.1e} °C, at most {TARGET_C:g} wanted")
    print("One estimate with interval, warnings, sources and steps")
    for name, seconds in single_s.items():
        print(f"  {name:<26} {seconds * 1e3:9.2f} ms")
    growth()
    maps()
    return {"ratio": loop_s / batch_s, "apart_c": apart_c, "batch_s": batch_s, **single_s}


if __name__ == "__main__":
    main()
