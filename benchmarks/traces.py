"""How often the interval of a flash holds it, over models of traces, and how long one takes.

Run with `.venv/bin/python -m benchmarks.traces`. The models are those of the tests.
"""

import time
from dataclasses import replace

import numpy as np
from tests.metrology.synthetic_traces import Model, make, shown_c

from closedcup.metrology.traces import check_trace, find_flash

SEEDS = 1000
TARGET = 0.90


def models() -> dict[str, Model]:
    usual = Model()
    return {
        "step of 10 s": usual,
        "step of 2 s": replace(usual, height=0.04),
        "step of 1.5 s": replace(usual, height=0.03),
        "pulse, 3 s": replace(usual, height=1.0, decay_s=3.0),
        "slow rise, 5 s": replace(usual, height=1.0, rise_s=5.0),
        "probe lags 8 s": replace(usual, lag_s=8.0),
        "read to 0.5 °C": replace(usual, resolution_c=0.5, cup_noise_c=0.1),
        "flash heats 3 °C": replace(usual, flash_heats_c=3.0),
        "each 5 s, 2 °C/min": replace(usual, interval_s=5.0, rate_c_per_min=2.0),
        "no flash": replace(usual, flashes=False),
    }


def main() -> dict[str, float]:
    """Print each model, then the lowest coverage beside what was wanted."""
    lowest, slowest_ms = 1.0, 0.0
    print(f"{SEEDS} traces of each model; interval at 95 %")
    print(f"  {'':<20}  found   held   width °C  ms")
    for name, model in models().items():
        true_c = float(shown_c(model, model.flash_s))
        widths, held = [], 0
        traces = [check_trace(*make(model, seed)) for seed in range(SEEDS)]
        began = time.perf_counter()
        for trace in traces:
            flash = find_flash(trace, from_s=model.dwell_s)
            if flash is not None:
                widths.append(flash.high_cup_c - flash.low_cup_c)
                held += flash.low_cup_c <= true_c <= flash.high_cup_c
        ms = (time.perf_counter() - began) / SEEDS * 1000
        slowest_ms = max(slowest_ms, ms)
        if model.flashes:
            lowest = min(lowest, held / max(len(widths), 1))
            print(
                f"  {name:<20} {len(widths) / SEEDS:6.1%} {held / max(len(widths), 1):6.1%} "
                f"{np.mean(widths):8.2f} {ms:6.1f}"
            )
        else:
            print(f"  {name:<20} {len(widths) / SEEDS:6.1%} (false alarms)      {ms:6.1f}")
    print(f"lowest share held, of those found  {lowest:.1%}, at least {TARGET:.0%}")
    return {"lowest_held": lowest, "slowest_ms": slowest_ms}


if __name__ == "__main__":
    main()
