"""The data files of the packages `chemicals` and `thermo`, read as they are."""

import csv
from collections import Counter
from functools import cache
from importlib.resources import files
from pathlib import Path

import chemicals
from chemicals.identifiers import ChemicalMetadata, pubchem_db
from thermo import unifac

INPUTS = Path(__file__).parent.parent / "inputs"
DATA = Path(__file__).parent.parent.parent / "src/closedcup/mixtures/data"
KELVIN = 273.15


def read_rows(path: Path) -> list[dict[str, str]]:
    lines = path.read_text(encoding="utf-8").splitlines(keepends=True)
    lines = [line for line in lines if not line.startswith("#")]
    return list(csv.DictReader(lines, delimiter="\t" if "\t" in lines[0] else ","))


@cache
def package_table(folder: str, name: str) -> dict[str, dict[str, str]]:
    return {row["CAS"]: row for row in read_rows(Path(str(files("chemicals"))) / folder / name)}


@cache
def identity(cas: str) -> ChemicalMetadata | None:
    """Return formula, structure and names; None for a number that the package does not know."""
    try:
        return pubchem_db.search_CAS(cas) or None
    except (KeyError, ValueError):
        return None


def cas_of_key(inchikey: str) -> str | None:
    found = pubchem_db.search_InChI_key(inchikey)  # loads the large table when it must
    return found.CASs if found else None


def groups(cas: str, model: str) -> dict[int, int]:
    """Return the counts of groups; `model` is "UNIFAC" or "MODIFIED_UNIFAC".

    Empty where the atoms of the original groups are not those of the molecule. The modified ones
    are not checked: the package counts the ring ethers among them otherwise than they are used.
    """
    found = unifac.UNIFAC_group_assignment_DDBST(cas, model) or {}
    if model != "UNIFAC":
        return found
    counted: Counter[str] = Counter()
    for group, count in found.items():
        for atom, number in unifac.UFSG[group].atoms.items():
            counted[atom] += number * count
    formula = chemicals.nested_formula_parser(identity(cas).formula)
    return found if {atom: n for atom, n in counted.items() if n} == formula else {}
