"""The regimes there are, and which edition is in force on a date."""

import datetime as dt
import difflib
from functools import cache
from importlib.resources import files

from closedcup.classification.fuels import fuel_specifications
from closedcup.classification.tables import Regime, read_regime
from closedcup.errors import InputError, Refused


@cache
def editions() -> tuple[Regime, ...]:
    """Return every regime in every edition on file, in the order of reports."""
    tables = sorted(
        (
            f
            for f in (files(__package__) / "data" / "regimes").iterdir()
            if f.name.endswith(".toml")
        ),
        key=lambda file: file.name,
    )
    regulations = sorted((read_regime(file) for file in tables), key=lambda r: r.position)
    return (*regulations, *fuel_specifications())


def _is_in_force(regime: Regime, on: dt.date | None) -> bool:
    if on is None:
        return regime.superseded is None
    begun = regime.in_force is None or regime.in_force <= on
    return begun and (regime.superseded is None or on < regime.superseded)


def regimes(on: dt.date | None = None, *, all_on_file: bool = False) -> tuple[Regime, ...]:
    """Return the regimes in the edition in force on a date; without a date, the latest on file.

    Those for old documents and for another cup come along only with `all_on_file`.
    """
    return tuple(
        regime
        for regime in editions()
        if _is_in_force(regime, on) and (all_on_file or not regime.only_when_asked)
    )


def find_regime(name: str, on: dt.date | None = None) -> Regime:
    """Return one regime by its name.

    Raises InputError for a name that is not on file, Refused for a date that no edition on file
    covers.
    """
    for regime in regimes(on, all_on_file=True):
        if regime.name == name:
            return regime
    names = sorted({regime.name for regime in editions()})
    if name in names:
        raise Refused(
            "edition-not-on-file",
            f"No edition of {name} on file was in force on {on}.",
            where="regime",
            fix="Classify by the edition in force today, or consult the text of that date.",
        )
    near = difflib.get_close_matches(name, names, n=1, cutoff=0.4)
    meant = f"Did you mean “{near[0]}”? " if near else ""
    raise InputError(
        "unknown-regime",
        f"“{name}” is not a regime on file.",
        where="regime",
        fix=f"{meant}There are: {', '.join(names)}.",
    )
