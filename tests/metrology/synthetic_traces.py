"""Traces from a stated model, with everything known that the analysis should find.

The cup stands for `dwell_s` at `start_c`, then is heated at `rate_c_per_min`; the probe follows it
with a first-order lag of `lag_s` and shows it with Gaussian noise. The detector stands at `base`
plus a linear drift with Gaussian noise; from the flash on it shows a pulse of `height` that decays
with `decay_s` (or stays for good), seen through a first-order rise of `rise_s`.
"""

from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True)
class Model:
    start_c: float = 45.0
    rate_c_per_min: float = 5.5
    dwell_s: float = 60.0
    flash_s: float = 360.25
    after_s: float = 60.0
    interval_s: float = 1.0
    lag_s: float = 0.0
    cup_noise_c: float = 0.05
    resolution_c: float = 0.0
    base: float = 1.0
    drift_per_s: float = 1e-4
    noise: float = 0.02
    height: float = 0.2
    decay_s: float | None = None
    rise_s: float = 0.0
    flashes: bool = True
    flash_heats_c: float = 0.0


def shown_c(model: Model, time_s):
    """Return what the probe shows without noise: after the lag a ramp that comes lag_s late."""
    on_ramp = np.maximum(np.asarray(time_s, dtype=float) - model.dwell_s, 0.0)
    late = on_ramp
    if model.lag_s:
        late = on_ramp - model.lag_s * (1 - np.exp(-on_ramp / model.lag_s))
    return model.start_c + model.rate_c_per_min / 60 * late


def make(model: Model, seed: int):
    """Return times, cup temperatures and detector signal."""
    random = np.random.default_rng(seed)
    time_s = np.arange(0.0, model.flash_s + model.after_s, model.interval_s)
    since = time_s - model.flash_s
    burning = (since >= 0) & model.flashes
    cup_c = shown_c(model, time_s) + model.flash_heats_c * burning
    cup_c = cup_c + model.cup_noise_c * random.standard_normal(time_s.size)
    if model.resolution_c:
        cup_c = np.round(cup_c / model.resolution_c) * model.resolution_c
    shape = np.where(burning, 1.0, 0.0)
    if model.decay_s is not None:
        shape *= np.exp(-np.maximum(since, 0) / model.decay_s)
    if model.rise_s:
        shape *= 1 - np.exp(-np.maximum(since, 0) / model.rise_s)
    detector = model.base + model.drift_per_s * time_s + model.height * shape
    return time_s, cup_c, detector + model.noise * random.standard_normal(time_s.size)
