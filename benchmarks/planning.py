"""Strategies of searching at nine settings, and how long the next temperature takes.

Run with `.venv/bin/python -m benchmarks.planning`. Specimens include confirmations. Beside each
sentence stands the worst case of the settings.
"""

import time

from closedcup.methods import FiniteAim, begin, method
from closedcup.planning.belief import Interval, Observed, prior_from_interval
from closedcup.planning.next_temperature import next_free, next_under_method
from closedcup.planning.observing import Observing
from closedcup.planning.pace import usual_pace, usual_weights
from closedcup.planning.simulation import Setting, Summary, best_possible_specimens, simulate

SAMPLES = 20_000
TARGET_ABOVE_BEST, TARGET_FEWER, TARGET_MS = 0.3, 0.25, 20
ROUNDS = 9


def settings() -> list[Setting]:
    return [
        Setting(
            spread_c,
            1.0,
            Observing(scatter_c, lapse=0.0),
            usual_pace(),
            usual_weights(),
            samples=SAMPLES,
        )
        for scatter_c in (0.2, 0.6, 1.0)
        for spread_c in (1.5, 3.0, 8.0)
    ]


def line(one: Summary) -> str:
    return (
        f"  {one.name:<24} {one.mean_specimens:6.3f} {one.p95_specimens:4.0f} "
        f"{one.mean_minutes:7.2f} {one.overshoots:8.4f} {one.wrong_share:8.3%} "
        f"{one.same_as_written_share:8.2%} {one.bound_specimens:6.3f}"
    )


def next_ms() -> dict[str, float]:
    """Time the next temperature over a whole apparatus, median of several."""
    prior = prior_from_interval(Interval(60, 54, 66), lowest_cup_c=-30, highest_cup_c=300)
    model, costs = Observing(0.2), {"pace": usual_pace(), "weights": usual_weights()}
    state = begin(
        method("d3828-b"),
        FiniteAim(),
        pressure_kpa=101.3,
        probe_correction_c=0.0,
        start_cup_c=60.0,
        apparatus_low_cup_c=-30.0,
        apparatus_high_cup_c=300.0,
    )
    reach = {"lowest_cup_c": -30.0, "highest_cup_c": 300.0, "step_c": 1.0}
    first = [Observed(60.0, flashed=False)]
    actions = {
        "under the method": lambda: next_under_method(state, prior, model, **costs),
        "free, at the start": lambda: next_free(prior, [], model, **reach, **costs),
        "free, after one": lambda: next_free(prior, first, model, **reach, **costs),
    }
    found = {}
    for name, action in actions.items():
        times = []
        for _ in range(ROUNDS):
            began = time.perf_counter()
            action()
            times.append((time.perf_counter() - began) * 1000)
        found[name] = sorted(times)[ROUNDS // 2]
    return found


def main() -> dict[str, float]:
    """Print every setting, then what was wanted beside the worst that was found."""
    above_best, fewer, more_wrong, longer, more_over, same = [], [], [], [], [], []
    for setting in settings():
        began = time.perf_counter()
        made = {one.name: one for one in simulate(setting)}
        seconds = time.perf_counter() - began
        best = best_possible_specimens(setting)
        print(
            f"spread {setting.spread_c:g} °C, scatter {setting.model.scatter_c:g} °C, step 1 °C, "
            f"{SAMPLES} samples in {seconds:.1f} s; best without scatter {best:.2f}"
        )
        print(f"  {'':<24}   mean  95%     min     over    wrong     same  bound")
        for one in made.values():
            print(line(one))
        written, free = made["written, from estimate"], made["screening, adaptive"]
        planned = made["written, planned start"]
        above_best.append(free.mean_specimens - best)
        if setting.spread_c == 1.5:
            fewer.append(1 - free.mean_specimens / written.mean_specimens)
        more_wrong.append(free.wrong_share - written.wrong_share)
        longer.append(planned.mean_minutes - written.mean_minutes)
        more_over.append(planned.overshoots - written.overshoots)
        same.append(planned.same_as_written_share)
    times = next_ms()
    error = 2 * (0.007 / SAMPLES) ** 0.5
    print(f"screening above the best possible  {max(above_best):6.3f}, at most {TARGET_ABOVE_BEST}")
    print(f"screening fewer at spread 1.5      {min(fewer):6.1%}, at least {TARGET_FEWER:.0%}")
    print(f"screening more often wrong by      {max(more_wrong):6.3%} (± {error:.3%} by chance)")
    print(f"planned start longer by            {max(longer):6.3f} min (negative: shorter)")
    print(f"planned start more overshoots by   {max(more_over):6.4f} (negative: fewer)")
    print(f"planned start, same value          {min(same):6.2%} of samples at worst")
    for name, ms in times.items():
        print(f"next temperature {name:<18} {ms:6.1f} ms, at most {TARGET_MS}")
    return {"above_best": max(above_best), "fewer": min(fewer), "slowest_ms": max(times.values())}


if __name__ == "__main__":
    main()
