"""What the events of metrology say, in words."""

from collections.abc import Callable
from typing import Any, Final

METROLOGY_WORDS: Final[dict[str, Callable[[Any], str]]] = {
    "reference-material-opened": lambda body: f"bottle opened on {body['opened_on']}",
    "verification-interval-decided": lambda body: (
        f"{body['apparatus'] or 'every apparatus'} is verified "
        + (f"every {body['days']} days" if body["days"] else "without an interval")
    ),
    "proficiency-result-recorded": lambda body: (
        f"round {body['round']}: {body['result_c']} °C, assigned {body['assigned_c']} °C, "
        f"{body['judged_by']} {float(body['z' if body['judged_by'] == 'z' else 'z_prime']):+.2f}, "
        f"{body['standing']}"
    ),
    "uncertainty-stated": lambda body: (
        f"uncertainty of {body['source']}: {body['value']} ({body['shape']}); {body['basis']}"
    ),
    "cause-assigned": lambda body: f"cause assigned: {body['cause']}",
    "chart-limits-decided": lambda body: (
        f"limits of the chart decided from {body['first']} to {body['last']}: {body['reason']}"
    ),
}
