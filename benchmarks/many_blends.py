"""Files of blends: time per row as the file grows, and memory of all processes together.

`python -m benchmarks.many_blends 10_000_000` solves files of as many rows, CSV and Parquet;
without a number, small ones. Memory is the sum over the processes of the command, sampled.
"""

import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np
import psutil
import pyarrow as pa
from pyarrow import csv, parquet

SOLVENTS = ("ethanol", "butanone", "toluene", "1-butanol")
PARTING = ("water", "toluene", "ethanol", "butanone")
BATCH, SAMPLE_S, LIMIT_MIB = 200_000, 0.05, 1024


def write(names: tuple[str, ...], rows: int, file: Path) -> None:
    """Write random blends, a batch at a time."""
    random = np.random.default_rng(22)
    schema = pa.schema([(name, pa.float64()) for name in names])
    opened = (
        parquet.ParquetWriter(file, schema)
        if file.suffix == ".parquet"
        else csv.CSVWriter(file, schema)
    )
    with opened as writer:
        for start in range(0, rows, BATCH):
            amounts = random.dirichlet(np.ones(len(names)), min(BATCH, rows - start))
            amounts = np.round(amounts, 6)
            amounts[:, -1] = 1 - amounts[:, :-1].sum(axis=1)
            writer.write_table(pa.table(dict(zip(names, np.abs(amounts).T, strict=True))))


def solve(file: Path, output: Path, *options: str) -> tuple[float, float]:
    """Run the command; return seconds and the highest memory of all its processes in MiB."""
    words = [sys.executable, "-m", "closedcup", "blends", str(file), "--output", str(output)]
    start, highest = time.perf_counter(), 0
    with subprocess.Popen([*words, "--json", *options], stdout=subprocess.DEVNULL) as command:
        while command.poll() is None:
            highest = max(highest, _resident(command.pid))
            time.sleep(SAMPLE_S)
    assert command.returncode == 0
    return time.perf_counter() - start, highest / 2**20


def _resident(pid: int) -> int:
    try:
        process = psutil.Process(pid)
        return sum(one.memory_info().rss for one in (process, *process.children(recursive=True)))
    except psutil.NoSuchProcess:
        return 0


def report(names: tuple[str, ...], rows: int, suffix: str, folder: Path) -> None:
    file, output = folder / f"blends{suffix}", folder / f"solved{suffix}"
    write(names, rows, file)
    seconds, mib = solve(file, output)
    print(
        f"  {', '.join(names):<36} {suffix[1:]:<8} {rows:>11,} rows {seconds:8.1f} s "
        f"{seconds / rows * 1e6:8.2f} µs a row {mib:7.0f} MiB, at most {LIMIT_MIB} wanted"
    )
    for path in folder.iterdir():
        path.unlink()


def main(rows: int | None = None) -> None:
    print("Files of blends, solved by the command on all cores")
    sizes = [rows] if rows else [100_000, 200_000, 400_000]
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        for count in sizes:
            for suffix in (".csv", ".parquet"):
                report(SOLVENTS, count, suffix, folder)
        report(PARTING, max(sizes) // 10, ".parquet", folder)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else None)
