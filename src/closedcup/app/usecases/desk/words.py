"""What the events of the desk say, in words."""

from collections.abc import Callable
from typing import Any, Final


def _agreed(body: Any) -> str:
    kept = f"until {body['keep_until']}" if body["keep_until"] else None
    if kept is None and body["keep_days"] is not None:
        kept = f"{body['keep_days']} days from the report"
    parts = [
        body["priority"] or "routine",
        f"due {body['due']}" if body["due"] else "no day agreed",
        f"kept {kept}" if kept else "no retention agreed",
    ]
    if body["kept_back_ml"] is not None:
        parts.append(f"{body['kept_back_ml']} mL kept back")
    return f"agreed anew: {', '.join(parts)}: {body['reason']}"


DESK_WORDS: Final[dict[str, Callable[[Any], str]]] = {
    "sample-handed-over": lambda body: (
        f"handed over from {body['giver']} to {body['taker']}; it stands at {body['place']}"
    ),
    "sample-opened": lambda body: (
        "opened "
        + (
            "without reading its temperature"
            if body["temperature_c"] is None
            else f"at {body['temperature_c']} °C"
        )
        + f": {body['why']}"
    ),
    "sample-volume-noted": lambda body: f"{body['left_ml']} mL are left: {body['why']}",
    "sample-keeping-agreed": _agreed,
    "sample-condition-questioned": lambda body: f"condition questioned: {body['what']}",
    "go-ahead-recorded": lambda body: (
        f"{body['customer']} said {'to go ahead' if body['proceed'] else 'not to test'} "
        f"({body['way']}, {body['said_at'][:16].replace('T', ' ')}): {body['words']}"
    ),
    "out-of-specification-told": lambda body: (
        f"{body['told']} was told of {body['result']} ({body['way']}, "
        f"{body['told_at'][:16].replace('T', ' ')}) and said: {body['said']}"
    ),
    "sample-disposed": lambda body: (
        f"disposed of: {body['how']} ({body['waste_class']})"
        + (f"; before its time: {body['early_because']}" if body["early_because"] else "")
    ),
    "sample-filter-saved": lambda body: (
        f"filter {body['name']} " + ("dropped" if body["dropped"] else "saved")
    ),
}
