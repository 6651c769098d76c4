"""Build the tables of the modified UNIFAC (Dortmund) from the package `thermo`.

Run with `.venv/bin/python tools/build_dortmund.py`; which groups each liquid is made of is in
the table that `tools/build_liquids.py` writes. The interactions are those of the table of 2006;
the later one gives the same numbers for all but a few pairs. The result is the same byte for byte
for the same version of the package.
"""

import csv
from collections.abc import Iterable
from pathlib import Path

from thermo import unifac

DATA = Path(__file__).parent.parent / "src/closedcup/mixtures/data"
SOURCE = ("unifac-dortmund-2006", "package")
KNOWN = ("source", "known")


def write_rows(name: str, columns: Iterable[str], rows: Iterable[Iterable[object]]) -> None:
    with (DATA / name).open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(columns)
        writer.writerows(rows)


def main() -> None:
    unifac.load_unifac_ip()
    mains = sorted({group.main_group_id for group in unifac.DOUFSG.values()})
    table = unifac.DOUFIP2006
    write_rows(
        "unifac_dortmund_subgroups.csv",
        ("subgroup", "name", "main_group", "r", "q", *KNOWN),
        (
            (number, group.group, group.main_group_id, float(group.R), float(group.Q), *SOURCE)
            for number, group in sorted(unifac.DOUFSG.items())
        ),
    )
    write_rows(
        "unifac_dortmund_interactions.csv",
        ("main_group", "with_main_group", "a_k", "b", "c_per_k", *KNOWN),
        ((m, n, *table[m][n], *SOURCE) for m in mains for n in mains if m != n and n in table[m]),
    )


if __name__ == "__main__":
    main()
