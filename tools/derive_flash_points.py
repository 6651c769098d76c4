"""Derive the flash points of the catalogue's liquids from the compilation of Sun et al. 2020.

Run with `.venv/bin/python tools/derive_flash_points.py COMPILATION.csv` (doi
10.1002/minf.201900101, CC BY 4.0, from github.com/cheminfo/molecule-features); needs `rdkit` to
match structures. Writes `tools/inputs/flash_points_sun2020.csv`: only values of liquids that the
catalogue can use, in degrees Celsius, by the origin that the compilation gives. Liquids chosen by
hand keep the rows of `flash_points.csv`; values from suppliers' catalogues
(origins with an underscore) are left out.
"""

import csv
import sys
from pathlib import Path

from liquid_tables import selection
from liquid_tables.packages import INPUTS, KELVIN, cas_of_key, read_rows
from rdkit import Chem, RDLogger


def main(compilation: Path) -> None:
    RDLogger.DisableLog("rdApp.*")
    wanted = set(selection.candidates())
    keys: dict[str, str | None] = {}
    found = set()
    for row in read_rows(compilation):
        smiles, origin = row["smiles"], row["source"].replace(" ", "-")
        if smiles not in keys:
            made = Chem.MolFromSmiles(smiles)
            keys[smiles] = cas_of_key(Chem.MolToInchiKey(made)) if made else None
        cas = keys[smiles]
        if cas in wanted and "_" not in origin:
            value_c = round(float(row["flashpoint"]) - KELVIN, 2)
            found.add((cas, f"{value_c:g}", f"sun2020-{origin}", "read"))
    with (INPUTS / "flash_points_sun2020.csv").open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(("cas", "value_c", "source", "known"))
        writer.writerows(sorted(found))
    print(f"{len(found)} values of {len({row[0] for row in found})} liquids")


if __name__ == "__main__":
    main(Path(sys.argv[1]))
