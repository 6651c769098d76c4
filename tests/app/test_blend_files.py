"""A file of blends: the same numbers on one core, on two and after a break; bad rows aside."""

import csv
import json

import numpy as np
import pytest

from closedcup.app.usecases import blend_files
from closedcup.app.usecases.blend_files import solve_file
from closedcup.app.usecases.blending import Choices
from closedcup.errors import InputError
from closedcup.mixtures import find
from closedcup.mixtures.sweep import sweep

NAMES = ("ethanol", "water", "acetone")


@pytest.fixture
def many(tmp_path):
    rows = np.random.default_rng(4).dirichlet(np.ones(3), 600)
    rows[:, 2] = 1 - rows[:, 0] - rows[:, 1]
    file = tmp_path / "many.csv"
    lines = [f"b{i},{','.join(repr(float(x)) for x in row)}" for i, row in enumerate(rows)]
    file.write_text("\n".join(["id," + ",".join(NAMES), *lines]) + "\n", encoding="utf-8")
    return file, rows


def read(path):
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def test_same_numbers_as_the_sweep_on_one_core_and_on_two(many, tmp_path):
    file, rows = many
    expected = sweep([find(name) for name in NAMES]).at(rows).flash_c
    for workers in (1, 2):
        target = tmp_path / f"out{workers}.csv"
        answer = solve_file(file, target, Choices(), workers=workers, piece_bytes=5000)
        found = read(target)
        assert answer["solved"] == len(found) == 600
        assert [row["id"] for row in found] == [f"b{i}" for i in range(600)]
        np.testing.assert_allclose([float(row["flash_point_c"]) for row in found], expected,
                                   atol=1.1e-3)  # fmt: skip
    assert (tmp_path / "out1.csv").read_bytes() == (tmp_path / "out2.csv").read_bytes()


def test_a_broken_run_is_taken_up_again(many, tmp_path):
    file, _ = many
    whole, broken = tmp_path / "whole.csv", tmp_path / "broken.csv"
    solve_file(file, whole, Choices(), workers=1)
    calls = []

    def stop_after_two(done, total):
        calls.append(done)
        if len(calls) == 2:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        solve_file(file, broken, Choices(), workers=1, piece_bytes=5000, progress=stop_after_two)
    with broken.open("ab") as half:
        half.write(b"half a li")
    with pytest.raises(InputError, match="other choices"):
        solve_file(file, broken, Choices(basis="mass"), workers=1)
    answer = solve_file(file, broken, Choices(), workers=1, piece_bytes=5000)
    assert answer["taken_up_at_row"] > 1
    assert broken.read_bytes() == whole.read_bytes()
    assert not broken.with_name("broken.csv.place").exists()
    with pytest.raises(InputError, match="exists already"):
        solve_file(file, broken, Choices(), workers=1)


def test_bad_rows_are_set_aside_with_the_reason(tmp_path):
    file = tmp_path / "bad.csv"
    file.write_text(
        "ethanol,water\n0.5,0.5\n0.5,0.4\n-0.1,1.1\nx,1\n0.5\n,1\n1,0\nnan,1\n0,0\n",
        encoding="utf-8",
    )
    answer = solve_file(file, tmp_path / "out.csv", Choices(), workers=1)
    assert (answer["rows"], answer["solved"], answer["rows_set_aside"]) == (9, 3, 6)
    reasons = {row["row"]: row["reason"] for row in read(tmp_path / "out.set-aside.csv")}
    assert reasons.keys() == {"2", "3", "4", "5", "8", "9"}
    for row, word in (("2", "0.9"), ("3", "negative"), ("4", "x"), ("5", "1 amounts"),
                      ("8", "finite"), ("9", "above zero")):  # fmt: skip
        assert word in reasons[row]
    no_flash = read(tmp_path / "out.csv")[1]
    assert (no_flash["row"], no_flash["flash_point_c"]) == ("6", "")
    assert "no flammable liquid" in no_flash["no_flash"]


def test_command(command, many, tmp_path, monkeypatch):
    file, _ = many
    monkeypatch.setattr(blend_files, "PIECE_BYTES", 5000)
    status, out, _ = command("blends", str(file), "--workers", "1", "--json")
    answer = json.loads(out)
    assert status == 0
    assert answer["rows"] == 600
    assert (tmp_path / "many.flash.csv").exists()
    for words, status, kind in (
        ([str(tmp_path / "none.csv")], 2, "file-missing"),
        ([str(file)], 2, "output-exists"),
    ):
        found, out, _ = command("blends", *words, "--json")
        assert (found, json.loads(out)["error"]["kind"]) == (status, kind)
