"""Heating rates and changes beside published ones; the data are in `data/series.csv`."""

import numpy as np

from closedcup.app.validation.comparison import Comparison
from closedcup.app.validation.published import compared, series
from closedcup.metrology.traces.change_point import locate_change
from closedcup.metrology.traces.heating_rate import heating_rate
from closedcup.metrology.traces.trace import Trace


def comparisons() -> list[Comparison]:
    """Compare with `data/trace_figures.csv`."""
    x, y = series("Norris x"), series("Norris y")
    order = np.argsort(x, kind="stable")
    # The same points as a trace: minutes on the one axis, so that the rate is the slope.
    heated = heating_rate(Trace(x[order] * 60, y[order]), from_s=-1.0, to_s=1e9, over_c=1e9)
    years, flow = np.arange(1871.0, 1971.0), series("Nile")
    change = locate_change(years, flow, longest_s=0.0)
    last_year = "none" if change is None else float(years[change.index - 1])
    return compared(
        "trace_figures.csv",
        {
            ("Norris", "slope as a heating rate"): heated.rate_c_per_min,
            ("Norris", "u of the heating rate"): heated.uncertainty_c_per_min,
            ("Nile", "last year before the change"): last_year,
        },
    )
