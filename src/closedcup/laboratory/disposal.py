"""What to mind when a sample is disposed of: cautions by its flash point and hazards."""

from functools import cache
from importlib.resources import files

from closedcup.methods.catalogue import bibliography
from closedcup.sources import load_rows


@cache
def _rows() -> tuple[dict[str, str], ...]:
    file = files("closedcup.laboratory") / "data" / "disposal.csv"
    return tuple(dict(row) for row in load_rows(file, bibliography()))


def disposal_cautions(
    flash_c: float | None, *, is_waste: bool, on_stop_list: bool
) -> tuple[str, ...]:
    """Return the cautions for a sample.

    flash_c: the lowest that its flash point can be, corrected, °C; None where nothing is known.
    Raises Damaged where the table is.
    """
    applies = {
        "always": True,
        "no flash point": flash_c is None,
        "is waste": is_waste,
        "stop list": on_stop_list,
    }
    return tuple(
        row["text"]
        for row in _rows()
        if applies.get(row["when"], False)
        or (
            row["when"] == "flash below"
            and (flash_c is None or flash_c < float(row["flash_below_c"]))
        )
    )
