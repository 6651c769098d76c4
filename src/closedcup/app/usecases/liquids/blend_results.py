"""Turn the lines of solved blends into one Parquet file, a block at a time."""

from pathlib import Path
from typing import Any, Final

# Lines of about half a million rows become one row group.
BLOCK_BYTES: Final = 16 << 20


def write_parquet(lines: Path, target: Path) -> None:
    """Write the results of a CSV file into a Parquet file; what has no flash point is null."""
    import pyarrow as pa
    from pyarrow import csv, parquet

    schema = _schema()
    fresh = target.with_name(f"{target.name}.new")
    reader = csv.open_csv(
        lines,
        read_options=csv.ReadOptions(block_size=BLOCK_BYTES, use_threads=False),
        convert_options=csv.ConvertOptions(
            column_types=schema, null_values=[""], strings_can_be_null=False
        ),
    )
    with reader, parquet.ParquetWriter(fresh, schema, compression="zstd") as writer:
        for batch in reader:
            writer.write_table(pa.Table.from_batches([batch.cast(schema)]))
    fresh.replace(target)


def _schema() -> Any:
    import pyarrow as pa

    return pa.schema([
        ("row", pa.int64()), ("id", pa.string()), ("flash_point_c", pa.float64()),
        ("liquid_phases", pa.int8()), ("no_flash", pa.string()), ("notes", pa.string()),
    ])  # fmt: skip
