"""Which evidence an answer used: what was known of all that the rows asked until one decided."""

from collections.abc import Iterator

from closedcup.classification.answer import Input
from closedcup.classification.conditions import field_of
from closedcup.classification.evidence import LABELS, Evidence
from closedcup.classification.outcome import Outcome
from closedcup.classification.tables import Regime

_UNITS = {
    "_mm2_s": "mm²/s",
    "_mass_percent": "% by mass",
    "_volume_percent": "% by volume",
    "_percent": "%",
    "_kpa": "kPa",
    "_mm": "mm",
    "_c": "°C",
    "_s": "s",
    "_l": "L",
}


def _in_words(name: str, value: object) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if not isinstance(value, float | int):
        return str(value)
    unit = next((words for ending, words in _UNITS.items() if name.endswith(ending)), "")
    return f"{round(float(value), 6):g} {unit}".strip()


def _asked(regime: Regime, outcome: Outcome) -> Iterator[str]:
    """Return the quantities that the rows ask for, up to the last that takes part."""
    last = outcome.rows[-1]
    for row in regime.rows:
        if row.kind != "note":
            for condition in (*row.when, *row.if_given):
                yield condition.quantity
        if row is last:
            return


def inputs_of(regime: Regime, evidence: Evidence, outcome: Outcome) -> tuple[Input, ...]:
    """Return the evidence that was known and looked at, the flash point first."""
    found = [_flash(evidence)]
    for quantity in dict.fromkeys(_asked(regime, outcome)):
        name = field_of(quantity)
        value = getattr(evidence, name)
        if quantity != "flash" and value is not None:
            found.append(Input(LABELS[quantity], name, _in_words(name, value)))
    return tuple(found)


def _flash(evidence: Evidence) -> Input:
    low_c, high_c = evidence.flash_bracket()
    if evidence.flash_c is not None:
        what = "calculated flash point" if evidence.calculated else "flash point, unrounded"
        return Input(what, "flash_c", _in_words("flash_c", evidence.flash_c))
    ends = [
        *([f"above {low_c:g} °C"] if evidence.no_flash_at_c is not None else []),
        *([f"at or below {high_c:g} °C"] if evidence.flash_at_c is not None else []),
    ]
    return Input("flash point", "flash_c", " and ".join(ends))
