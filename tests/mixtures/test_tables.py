"""The committed tables: in order, complete, within their size, and what the tool writes."""

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from closedcup.errors import Damaged
from closedcup.mixtures import catalogue, consensus_of
from closedcup.mixtures.tables import SortedTable, data_file, table

SORTED = (
    "liquids.csv", "properties.csv", "vapour_pressure.csv", "unifac_assignments.csv",
    "flash_points.csv", "hazards_by_structure.csv", "flash_consensus.csv",
)  # fmt: skip
ROOT = Path(__file__).parents[2]


@pytest.mark.parametrize("name", SORTED)
def test_lines_are_in_order_and_every_row_is_found_and_sourced(name):
    shelf = SortedTable(name)
    assert shelf.lines == sorted(shelf.lines)
    numbers = dict.fromkeys(row["cas"] for row in shelf.all_rows())
    assert sum(len(shelf.rows(cas)) for cas in numbers) == len(shelf.lines)
    assert set(numbers) <= set(catalogue())


def test_a_row_without_a_source_does_not_load(monkeypatch):
    shelf = SortedTable("liquids.csv")
    monkeypatch.setattr(shelf, "lines", ["1-00-0,a,flammable,,C,12,alkane,,package"])
    with pytest.raises(Damaged):
        shelf.rows("1-00-0")


def test_the_catalogue_is_as_large_as_it_says():
    liquids = list(catalogue().values())
    flammable = [liquid for liquid in liquids if liquid.role == "flammable"]
    assert len(liquids) >= 2900
    assert sum(liquid.vapour_pressure is not None for liquid in liquids) >= 1900
    assert sum(consensus_of(liquid) is not None for liquid in liquids) >= 2500
    assert sum(bool(liquid.subgroups) for liquid in flammable) >= 1300
    assert sum(bool(liquid.dortmund_subgroups) for liquid in flammable) >= 1250
    assert sum("heat_of_vaporisation_25c_kj_mol" in each.properties for each in liquids) > 900
    assert sum("heat_of_combustion_25c_kj_mol" in each.properties for each in liquids) > 700


def test_the_consensus_table_is_what_the_program_computes():
    for liquid in catalogue().values():
        row, found = table("flash_consensus.csv").row(liquid.cas), consensus_of(liquid)
        assert (row is None) == (found is None)
        if row is not None and found is not None:
            assert float(row["value_c"]) == found.value_c
            assert float(row["half_width_c"]) == found.half_width_c
            assert row["outliers"] == "; ".join(found.outliers)


def test_the_data_stay_small():
    folder = Path(str(data_file("liquids.csv"))).parent
    assert sum(file.stat().st_size for file in folder.glob("*.csv")) < 3_000_000


# Opt-in: needs rdkit, and the package versions that the tables were built with.
if "CLOSEDCUP_BUILD_LIQUIDS" in os.environ:

    def test_the_tool_writes_the_committed_tables_again(tmp_path):
        for part in ("tools", "src"):
            shutil.copytree(ROOT / part, tmp_path / part)
        environment = os.environ | {"PYTHONPATH": str(tmp_path / "src")}
        command = [sys.executable, "-W", "ignore", str(tmp_path / "tools" / "build_liquids.py")]
        subprocess.run(command, check=True, env=environment, capture_output=True)
        for committed in (ROOT / "src/closedcup/mixtures/data").glob("*.csv"):
            again = tmp_path / "src/closedcup/mixtures/data" / committed.name
            assert again.read_bytes() == committed.read_bytes(), committed.name
