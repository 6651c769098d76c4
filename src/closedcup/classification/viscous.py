"""The table of viscous liquids, which several regimes share, as rows of a decision table."""

from collections.abc import Iterator, Mapping
from importlib.resources import files
from typing import Any

from closedcup.sources import Bibliography, load_rows


def _ends(low: str, high: str) -> list[str]:
    return [f">{low}", *([f"<={high}"] if high else [])]


def _words(low: str, high: str, unit: str) -> str:
    return f"> {low} and ≤ {high} {unit}" if high else f"> {low} {unit}"


def viscous_entries(
    entry: Mapping[str, Any], bibliography: Bibliography
) -> Iterator[dict[str, Any]]:
    """Return two entries for each row of the table: by viscosity, and by flow time.

    Where both are known they must belong to one row: the other stands in `if_given`.
    """
    given = {key: value for key, value in entry.items() if key != "each_of"}
    for row in load_rows(files(__package__) / "data" / entry["each_of"], bibliography):
        flash = {"flash": f">{row['flash_above_c']} degC"} if row["flash_above_c"] else {}
        above = f"flash point > {row['flash_above_c']} °C" if flash else "whatever the flash point"
        viscosity = {"viscosity_mm2_s": _ends(row["above_mm2_s"], row["to_mm2_s"])}
        flow = {
            "flow_time_s": _ends(row["above_s"], row["to_s"]),
            "cup_jet_mm": f"={row['jet_mm']}",
        }
        by_viscosity = f"Viscosity {_words(row['above_mm2_s'], row['to_mm2_s'], 'mm²/s')}"
        by_flow = (
            f"Flow time {_words(row['above_s'], row['to_s'], 's')} through a {row['jet_mm']} mm jet"
        )
        for words, when, other in ((by_viscosity, viscosity, flow), (by_flow, flow, viscosity)):
            yield given | {
                "rule": f"{words} and {above}; {entry['rule']}",
                "when": {**flash, **when},
                "if_given": other,
            }
