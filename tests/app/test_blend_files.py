"""A file of blends: the same numbers however it is solved, and after a break; bad rows aside."""

import csv
import json
import subprocess
import sys
from decimal import Decimal

import numpy as np
import pyarrow as pa
import pytest
from pyarrow import parquet

from closedcup.app.usecases.liquids.blend_files import Run, solve_file
from closedcup.app.usecases.liquids.blending import Choices
from closedcup.errors import ClosedcupError, InputError, Refused
from closedcup.mixtures import blend, estimate

NAMES = ("ethanol", "water", "acetone", "N,N-dimethylformamide")
PIECES = {"piece_bytes": 5000, "piece_rows": 70}


@pytest.fixture(scope="module")
def rows():
    found = np.random.default_rng(4).dirichlet(np.full(4, 0.5), 600)
    found[found < 0.05] = 0
    found /= found.sum(axis=1, keepdims=True)
    return found


@pytest.fixture
def many(tmp_path, rows):
    file = tmp_path / "many.csv"
    with file.open("w", encoding="utf-8", newline="") as stream:
        writer = csv.writer(stream)
        writer.writerow(["id", *NAMES])
        writer.writerows([f"b{i}", *map(repr, row.tolist())] for i, row in enumerate(rows))
    return file


@pytest.fixture
def many_parquet(tmp_path, rows):
    file = tmp_path / "many.parquet"
    columns = {"id": [f"b{i}" for i in range(len(rows))]} | dict(zip(NAMES, rows.T, strict=True))
    parquet.write_table(pa.table(columns), file, row_group_size=256)
    return file


def read(path):
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def interrupted(file, target, **choices):
    """Solve a file and stop after the second piece."""
    calls = []

    def stop(done, total):
        calls.append(done)
        if len(calls) == 2:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        solve_file(file, target, Choices(), run=Run(**choices, **PIECES), progress=stop)


def test_every_row_equals_its_own_estimate(many, rows, tmp_path):
    """With and without water: each row takes the model that its own liquids call for."""
    solve_file(many, tmp_path / "out.csv", Choices(), run=Run(1))
    found = read(tmp_path / "out.csv")
    assert [row["id"] for row in found] == [f"b{i}" for i in range(600)]
    for i in range(0, 600, 40):
        parts = [(name, x) for name, x in zip(NAMES, rows[i].tolist(), strict=True) if x > 0]
        if found[i]["flash_point_c"]:
            assert found[i]["flash_point_c"] == f"{estimate(blend(parts)).flash_c:.3f}"
        else:
            with pytest.raises(Refused, match=found[i]["no_flash"]):
                estimate(blend(parts))


def test_same_bytes_on_one_core_on_two_and_from_parquet(many, many_parquet, tmp_path):
    for source, workers, name in ((many, 1, "a"), (many, 2, "b"), (many_parquet, 2, "c")):
        run = Run(workers, **PIECES)
        answer = solve_file(source, tmp_path / f"{name}.csv", Choices(), run=run)
        assert (answer["rows"], answer["solved"]) == (600, 600)
    first = (tmp_path / "a.csv").read_bytes()
    assert first == (tmp_path / "b.csv").read_bytes() == (tmp_path / "c.csv").read_bytes()


def test_parquet_out_holds_the_same_and_survives_a_break(many_parquet, tmp_path):
    solve_file(many_parquet, tmp_path / "whole.csv", Choices(), run=Run(1))
    broken = tmp_path / "broken.parquet"
    interrupted(many_parquet, broken, workers=1)
    assert not broken.exists()
    answer = solve_file(many_parquet, broken, Choices(), run=Run(1, **PIECES))
    assert answer["taken_up_at_row"] == 141
    table = parquet.read_table(broken)
    expected = read(tmp_path / "whole.csv")
    assert table["id"].to_pylist() == [row["id"] for row in expected]
    flashes = [float(row["flash_point_c"]) if row["flash_point_c"] else None for row in expected]
    assert table["flash_point_c"].to_pylist() == flashes
    left = {path.name for path in tmp_path.iterdir() if path.name.startswith("broken")}
    assert left == {"broken.parquet", "broken.set-aside.csv"}


def test_a_broken_run_is_taken_up_again(many, tmp_path):
    whole, broken = tmp_path / "whole.csv", tmp_path / "broken.csv"
    solve_file(many, whole, Choices(), run=Run(1))
    interrupted(many, broken, workers=1)
    with broken.open("ab") as half:
        half.write(b"half a li")
    with pytest.raises(InputError, match="other choices"):
        solve_file(many, broken, Choices(basis="mass"), run=Run(1, **PIECES))
    kept = broken.read_bytes()
    broken.write_bytes(kept[:1000])
    with pytest.raises(InputError, match="shorter"):
        solve_file(many, broken, Choices(), run=Run(1, **PIECES))
    broken.write_bytes(kept)
    answer = solve_file(many, broken, Choices(), run=Run(1, **PIECES))
    assert answer["taken_up_at_row"] > 1
    assert broken.read_bytes() == whole.read_bytes()
    assert not broken.with_name("broken.csv.place").exists()
    with pytest.raises(InputError, match="exists already"):
        solve_file(many, broken, Choices(), run=Run(1))


@pytest.fixture(scope="module")
def cluster():
    """A real scheduler and two workers, each a process of its own."""
    distributed = pytest.importorskip("distributed")
    with distributed.LocalCluster(
        n_workers=2, threads_per_worker=1, processes=True, dashboard_address=":0",
        memory_limit=None,
    ) as found:  # fmt: skip
        yield found.scheduler_address


def test_a_cluster_gives_the_same_bytes_and_goes_on_after_a_break(many, cluster, tmp_path):
    solve_file(many, tmp_path / "here.csv", Choices(), run=Run(1))
    there = tmp_path / "there.csv"
    interrupted(many, there, scheduler=cluster)
    answer = solve_file(many, there, Choices(), run=Run(scheduler=cluster, **PIECES))
    assert answer["taken_up_at_row"] > 1
    assert there.read_bytes() == (tmp_path / "here.csv").read_bytes()


def test_what_a_scheduler_cannot_do(many, tmp_path, monkeypatch):
    from closedcup.app.usecases.liquids import blend_workers

    monkeypatch.setattr(blend_workers, "CONNECT_S", 0.5)
    for address in ("tcp://127.0.0.1:1", "not an address"):
        with pytest.raises(InputError, match="no Dask scheduler"):
            solve_file(many, tmp_path / "out.csv", Choices(), run=Run(scheduler=address, **PIECES))
    distributed = pytest.importorskip("distributed")
    with distributed.LocalCluster(n_workers=0, processes=False, dashboard_address=":0") as idle:
        run = Run(scheduler=idle.scheduler_address, **PIECES)
        with pytest.raises(InputError, match="no workers"):
            solve_file(many, tmp_path / "out.csv", Choices(), run=run)
    monkeypatch.setitem(sys.modules, "distributed", None)
    with pytest.raises(InputError, match="not installed"):
        solve_file(many, tmp_path / "out.csv", Choices(), run=Run(scheduler="tcp://x:1", **PIECES))


def test_bad_rows_are_set_aside_with_the_reason(tmp_path):
    file = tmp_path / "bad.csv"
    file.write_text(
        "ethanol;water\n0.5;0.5\n0.5;0.4\n-0.1;1.1\nx;1\n0.5\n;1\n1;0\nnan;1\n0;0\n\n0;1",
        encoding="utf-8-sig",
    )
    answer = solve_file(file, tmp_path / "out.csv", Choices(), run=Run(1))
    assert (answer["rows"], answer["solved"], answer["rows_set_aside"]) == (11, 4, 7)
    reasons = {row["row"]: row["reason"] for row in read(tmp_path / "out.set-aside.csv")}
    for row, word in (("2", "0.9"), ("3", "negative"), ("4", "x"), ("5", "1 amounts"),
                      ("8", "finite"), ("9", "above zero"), ("10", "empty")):  # fmt: skip
        assert word in reasons.pop(row)
    assert not reasons
    assert "no flammable liquid" in read(tmp_path / "out.csv")[1]["no_flash"]


def test_rows_are_refused_or_widened_by_name_and_alone(tmp_path):
    file = tmp_path / "odd.csv"
    file.write_text(
        "id,ethanol,toluene,chloroform,limonene,hexadecane,water,nitromethane\n"
        '"a, b",0.5,0.5,0,0,0,0,0\n'
        "mask,0.5,0,0.5,0,0,0,0\n"
        "pressure,0.5,0,0,0.5,0,0,0\n"
        "pure,0,0,0,1,0,0,0\n"
        "groups,0.5,0,0,0,0,0,0.5\n"
        "range,0.5,0,0,0,0.5,0,0\n"
        "dilute,0.05,0,0,0,0,0.95,0\n",
        encoding="utf-8",
    )
    answer = solve_file(file, tmp_path / "out.csv", Choices(), run=Run(1))
    assert any("chloroform" in warning for warning in answer["warnings"])
    found = {row["id"]: row for row in read(tmp_path / "out.csv")}
    aside = {row["id"]: row["reason"] for row in read(tmp_path / "out.set-aside.csv")}
    assert aside.keys() == {"mask", "pressure", "groups"}
    for key, name in (("mask", "chloroform"), ("pressure", "limonene"), ("groups", "nitromethane")):
        assert name in aside[key]
    assert found["a, b"]["notes"] == ""
    assert float(found["pure"]["flash_point_c"]) == estimate(blend(["limonene=1"])).flash_c
    assert "vapour pressure of hexadecane" in found["range"]["notes"]
    assert "90%" in found["dilute"]["notes"]


@pytest.mark.parametrize(
    ("header", "kind"),
    [
        ("ethanol,EtOH\n1,0\n", "component-repeated"),
        ("ethanol,nonsuchanol\n1,0\n", "liquid-unknown"),
        ("id\nx\n", "no-liquid-columns"),
        ("\n", "no-liquid-columns"),
        ("ethanol,,water\n", "no-liquid-columns"),
    ],
)
def test_columns_that_name_no_liquid(tmp_path, header, kind):
    file = tmp_path / "bad.csv"
    file.write_text(header, encoding="utf-8")
    with pytest.raises(ClosedcupError) as found:
        solve_file(file, tmp_path / "out.csv", Choices())
    assert found.value.kind == kind


def test_parquet_columns_of_other_kinds(tmp_path):
    file = tmp_path / "kinds.parquet"
    half = [Decimal("0.5"), None]
    parquet.write_table(pa.table({"id": [7, 8], "ethanol": half, "water": [0.5, 1.0]}), file)
    answer = solve_file(file, tmp_path / "out.parquet", Choices())
    assert (answer["solved"], answer["rows_set_aside"]) == (2, 0)
    assert parquet.read_table(tmp_path / "out.parquet")["id"].to_pylist() == ["7", "8"]
    parquet.write_table(pa.table({"ethanol": [1.0], "maker": ["x"]}), file)
    with pytest.raises(InputError, match="maker"):
        solve_file(file, tmp_path / "other.csv", Choices())
    file.write_bytes(b"PAR1 no")
    with pytest.raises(InputError, match="cannot be read"):
        solve_file(file, tmp_path / "other.csv", Choices())


def test_command(command, many, tmp_path):
    status, out, _ = command("blends", str(many), "--workers", "1", "--json")
    answer = json.loads(out)
    assert status == 0
    assert answer["rows"] == 600
    assert (tmp_path / "many.flash.csv").exists()
    for words, status, kind in (
        ([str(tmp_path / "none.csv")], 2, "file-missing"),
        ([str(many)], 2, "output-exists"),
        ([str(many), "--output", str(tmp_path / "x.txt")], 2, "output-unknown"),
    ):
        found, out, _ = command("blends", *words, "--json")
        assert (found, json.loads(out)["error"]["kind"]) == (status, kind)


def test_help_of_blends_loads_neither_pyarrow_nor_dask():
    code = ("import sys; from closedcup.app.entry import run; run(['blends', '--help']);"
            "sys.exit(bool({'pyarrow', 'distributed', 'numpy'} & set(sys.modules)))")  # fmt: skip
    done = subprocess.run([sys.executable, "-c", code], check=False, capture_output=True)
    assert done.returncode == 0


def test_products_are_widened_by_name_and_a_resin_is_refused(tmp_path):
    file = tmp_path / "products.csv"
    file.write_text("petrol,diesel,resin\n0.02,0.98,0\n0,1,0\n0,0.6,0.4\n", encoding="utf-8")
    solve_file(file, tmp_path / "out.csv", Choices(basis="volume"), run=Run(1))
    mixed, pure = read(tmp_path / "out.csv")
    assert "petrol is a product" in mixed["notes"]
    assert "diesel is a product" in pure["notes"]
    assert "resin" in read(tmp_path / "out.set-aside.csv")[0]["reason"]
