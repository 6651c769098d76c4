"""How often the cause of a bias is found: 500 simulated histories of each, and how long one takes.

Run with `.venv/bin/python -m benchmarks.diagnosis`; `closedcup diagnose --simulate` prints the
whole matrix. What the histories are made of is said in metrology/simulated_histories.py.
"""

import time
from typing import Any

import numpy as np

from closedcup.app.usecases.diagnosis.trying_diagnosis import laboratory_of, on_record, tried
from closedcup.methods import method
from closedcup.metrology.diagnosis import diagnose, diagnose_all
from closedcup.metrology.simulated_histories import CLEAN, simulate_history

HISTORIES = 500
METHODS = ("d93-a", "d7236", "d56", "d3828-b")
TARGETS = {1.0: 0.80, 2.0: 0.95}
MOST_FALSE_ALARMS = 0.05
SEED = 2026  # not the one that choices in the model were made with


def _print_method(answer: dict[str, Any]) -> None:
    r = ", ".join(f"{one:.2f}" for one in answer["repeatability_c"])
    alarms = 1 - answer["clean"]["right"]
    print(
        f"{answer['method']}: r {r} °C; false alarms on clean histories {alarms:.1%} "
        f"(target ≤ {MOST_FALSE_ALARMS:.0%})"
    )
    for effect in answer["effects"]:
        target = TARGETS[effect["effect_in_r"]]
        short = [row for row in effect["rows"] if row["right"] < target]
        rows = effect["rows"]
        print(
            f"  effect {effect['effect_in_r']:g} r: right cause or its pair first "
            f"{np.mean([row['right'] for row in rows]):.1%}, alone or first of the pair "
            f"{np.mean([row['right_first'] for row in rows]):.1%}, two named "
            f"{np.mean([row['named_two'] for row in rows]):.1%}; worst "
            f"{min(row['right'] for row in rows):.1%} (target ≥ {target:.0%} each)"
        )
        for row in short:
            print(f"    below the target: {row['simulated']} {row['right']:.1%}")


def _false_alarms_at(correlation: float) -> float:
    """Return the share of clean histories with noise more correlated than those simulated."""
    generator = np.random.default_rng(SEED)
    laboratory = laboratory_of(method("d93-a"))
    found = []
    for _ in range(HISTORIES):
        made = on_record(simulate_history(laboratory, CLEAN, 0.0, generator))
        noise = np.empty(made.difference_c.size)
        noise[0] = generator.normal()
        for place in range(1, noise.size):
            fresh = generator.normal() * np.sqrt(1 - correlation**2)
            noise[place] = correlation * noise[place - 1] + fresh
        made.difference_c[:] = np.round(2 * noise * made.repeatability_c / 2.77) / 2
        found.append(made)
    return float(np.mean([one.found for one in diagnose_all(found)]))


def _false_alarms_among(results: int) -> float:
    generator = np.random.default_rng(SEED)
    laboratory = laboratory_of(method("d93-a"))
    made = [
        on_record(simulate_history(laboratory, CLEAN, 0.0, generator, results=results))
        for _ in range(HISTORIES)
    ]
    return float(np.mean([one.found for one in diagnose_all(made)]))


def main() -> None:
    begin = time.perf_counter()
    for identifier in METHODS:
        _print_method(tried(method, method_id=identifier, histories=HISTORIES, seed=SEED))
    count = len(METHODS) * 25 * HISTORIES
    spent = time.perf_counter() - begin
    print(f"simulating and diagnosing {count} histories: {spent:.1f} s, {spent / count:.5f} s each")
    for correlation in (0.0, 0.3, 0.6, 0.8):
        share = _false_alarms_at(correlation)
        print(f"false alarms on clean histories of correlation {correlation}: {share:.1%}")
    for results in (8, 12, 16, 30):
        share = _false_alarms_among(results)
        print(f"false alarms on clean histories of {results} results: {share:.1%}")
    generator = np.random.default_rng(SEED)
    one = on_record(
        simulate_history(laboratory_of(method("d93-a")), "change of lid", 1.0, generator)
    )
    begin = time.perf_counter()
    for _ in range(20):
        diagnose(one)
    print(f"one history of 30 results: {(time.perf_counter() - begin) / 20:.4f} s")


if __name__ == "__main__":
    main()
