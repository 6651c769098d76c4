"""Files of blends, read a piece at a time: CSV and Parquet, one column for each liquid.

A first column "id" names the rows, if there is one. A blank amount is none of the liquid. Pieces
are cut at the same places however often a run is broken off, so that it ends with the same bytes.
"""

import csv
import hashlib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final, Protocol

import numpy as np
from numpy.typing import NDArray

from closedcup.errors import InputError

Array = NDArray[np.float64]

ID: Final = "id"
PARQUET: Final = ".parquet"
# About fifty thousand rows of four amounts.
PIECE_BYTES: Final = 2_000_000
PIECE_ROWS: Final = 50_000
# A column's bytes are read as they are needed, not a whole row group of them at once.
_READ_BYTES: Final = 1 << 20
_FINGERPRINT_BYTES: Final = 65_536


@dataclass(frozen=True, slots=True)
class ReadRows:
    """Rows of a piece: ids, amounts (rows, liquids), and for each why it cannot be used or ""."""

    ids: Sequence[str]
    amounts: Array
    reasons: list[str]


class Piece(Protocol):
    """A number of rows on their way to be solved; can be sent to another process."""

    @property
    def rows(self) -> int:
        """How many rows it holds."""
        ...

    @property
    def length(self) -> int:
        """How far it takes the reader on."""
        ...

    def read(self) -> ReadRows:
        """Return its rows."""
        ...


class Source(Protocol):
    """A file of blends. `start` and `total` are places in it: bytes or rows."""

    columns: tuple[str, ...]
    start: int
    total: int

    def pieces(self, place: int) -> Iterator[Piece]:
        """Yield the rows from a place on; only places between pieces are ever asked for."""
        ...


def open_source(path: Path, piece_bytes: int = PIECE_BYTES, piece_rows: int = PIECE_ROWS) -> Source:
    """Open a file by its ending; InputError where it cannot be read or names no liquid."""
    if not path.is_file():
        raise InputError(
            "file-missing",
            f"There is no file {path.name}.",
            where="file",
            fix="Give a CSV or Parquet file with one column for each liquid.",
        )
    if path.suffix.lower() == PARQUET:
        return ParquetSource(path, piece_rows)
    return CsvSource(path, piece_bytes)


def fingerprint(path: Path, facts: str) -> str:
    """Return what tells a file, and how it is solved, from others: size, beginning and facts."""
    with path.open("rb") as file:
        first = file.read(_FINGERPRINT_BYTES)
    return hashlib.sha256(first + f"{path.stat().st_size}\n{facts}".encode()).hexdigest()


class CsvSource:
    """Lines of amounts between commas or semicolons."""

    def __init__(self, path: Path, piece_bytes: int) -> None:
        self._path, self._piece_bytes = path, piece_bytes
        with path.open("rb") as file:
            header = file.readline()
        text = header.decode("utf-8-sig", errors="replace").strip()
        self._separator = ";" if text.count(";") > text.count(",") else ","
        self.columns = checked_columns(next(csv.reader([text], delimiter=self._separator), []))
        self.start, self.total = len(header), path.stat().st_size

    def pieces(self, place: int) -> Iterator["CsvPiece"]:
        """Yield pieces of whole lines."""
        with self._path.open("rb") as file:
            file.seek(place)
            while text := file.read(self._piece_bytes):
                yield CsvPiece(text + file.readline(), self.columns, self._separator)


@dataclass(frozen=True, slots=True)
class CsvPiece:
    """Whole lines of a CSV file."""

    text: bytes
    columns: tuple[str, ...]
    separator: str

    @property
    def rows(self) -> int:
        """How many lines it holds."""
        return self.text.count(b"\n") + (not self.text.endswith(b"\n"))

    @property
    def length(self) -> int:
        """How many bytes it holds."""
        return len(self.text)

    def read(self) -> ReadRows:
        """Return its rows; lines end with a line feed, or carriage return and line feed."""
        text = self.text.decode("utf-8", errors="replace").removesuffix("\n")
        lines = [line.removesuffix("\r") for line in text.split("\n")]
        has_id = self.columns[0] == ID
        count = len(self.columns) - has_id
        if b'"' in self.text:
            cells = [next(csv.reader([line], delimiter=self.separator), []) for line in lines]
            lines = [self.separator.join(row[has_id:]) for row in cells]
            ids = [row[0] if row else "" for row in cells] if has_id else [""] * len(lines)
        elif has_id:
            parts = [line.partition(self.separator) for line in lines]
            ids, lines = [part[0] for part in parts], [part[2] for part in parts]
        else:
            ids = [""] * len(lines)
        amounts = self._numbers(lines, count)
        if amounts is not None:
            return ReadRows(ids, amounts, [""] * len(lines))
        # Some row is not all numbers: they are read one by one to say which.
        amounts = np.zeros((len(lines), count))
        reasons = [self._read_row(line, amounts[i]) for i, line in enumerate(lines)]
        return ReadRows(ids, amounts, reasons)

    def _numbers(self, lines: Sequence[str], count: int) -> Array | None:
        """Read all rows at once; None where any of them is not what it should be."""
        if not all(lines):
            return None
        try:
            amounts: Array = np.loadtxt(lines, delimiter=self.separator, ndmin=2, comments=None)
        except ValueError:
            return None
        return amounts if amounts.shape == (len(lines), count) else None

    def _read_row(self, line: str, amounts: Array) -> str:
        cells = line.split(self.separator)
        if not line.strip():
            return "the row is empty"
        if len(cells) != len(amounts):
            return f"{len(cells)} amounts for {len(amounts)} liquids"
        for place, cell in enumerate(cells):
            try:
                amounts[place] = float(cell) if cell.strip() else 0.0
            except ValueError:
                return f"“{cell.strip()[:20]}” is not a number"
        return ""


class ParquetSource:
    """Columns of amounts, read row group by row group."""

    def __init__(self, path: Path, piece_rows: int) -> None:
        self._path, self._piece_rows = path, piece_rows
        file = self._open()
        self._schema = file.schema_arrow
        self.columns = checked_columns(self._schema.names)
        self._refuse_other_types()
        self._group_rows = [
            file.metadata.row_group(group).num_rows for group in range(file.metadata.num_row_groups)
        ]
        self.start, self.total = 0, file.metadata.num_rows

    def pieces(self, place: int) -> Iterator["TablePiece"]:
        """Yield pieces of rows, none of which crosses from one row group into the next."""
        file, first = self._open(), 0
        for group, rows in enumerate(self._group_rows):
            if first + rows > place:
                at = first
                for batch in file.iter_batches(self._piece_rows, row_groups=[group]):
                    if at >= place:
                        yield self._piece(batch)
                    at += batch.num_rows
            first += rows

    def _open(self) -> Any:
        parquet = _parquet()
        try:
            return parquet.ParquetFile(self._path, pre_buffer=False, buffer_size=_READ_BYTES)
        except (OSError, ValueError) as error:
            raise InputError(
                "file-unreadable",
                f"{self._path.name} cannot be read as Parquet: {error}.",
                where="file",
                fix="Write it again, or give CSV.",
            ) from error

    def _refuse_other_types(self) -> None:
        from pyarrow import types

        for name, kind in zip(self._schema.names, self._schema.types, strict=True):
            number = types.is_integer(kind) or types.is_floating(kind) or types.is_decimal(kind)
            if not number and name != ID:
                raise InputError(
                    "column-not-numbers",
                    f"The column “{name}” holds {kind}, not amounts.",
                    where=f"column {name}",
                    fix="Keep the columns of liquids, as numbers, and a first column “id”.",
                )

    def _piece(self, batch: Any) -> "TablePiece":
        import pyarrow as pa

        has_id = self.columns[0] == ID
        ids = batch.column(0).cast(pa.string()).fill_null("").to_pylist() if has_id else None
        amounts = np.empty((batch.num_rows, len(self.columns) - has_id))
        for place, column in enumerate(batch.columns[has_id:]):
            numbers = column.cast(pa.float64(), safe=False).fill_null(0.0)
            amounts[:, place] = numbers.to_numpy(zero_copy_only=False)
        return TablePiece(ids, amounts)


@dataclass(frozen=True, slots=True)
class TablePiece:
    """Rows that are numbers already."""

    ids: list[str] | None
    amounts: Array

    @property
    def rows(self) -> int:
        """How many rows it holds."""
        return len(self.amounts)

    @property
    def length(self) -> int:
        """How many rows it holds."""
        return len(self.amounts)

    def read(self) -> ReadRows:
        """Return its rows."""
        return ReadRows(self.ids or [""] * self.rows, self.amounts, [""] * self.rows)


def checked_columns(names: Sequence[str]) -> tuple[str, ...]:
    """Return the names of the columns; InputError where they name no liquid."""
    columns = tuple(name.strip() for name in names)
    liquids = columns[1:] if columns[:1] == (ID,) else columns
    if not liquids or not all(liquids):
        raise InputError(
            "no-liquid-columns",
            "The columns of the file must each name a liquid.",
            where="header",
            fix="Write, for example: id,ethanol,water,acetone",
        )
    return columns


def _parquet() -> Any:
    try:
        from pyarrow import parquet
    except ImportError as error:
        raise InputError(
            "parquet-missing",
            "Parquet files need the package pyarrow, which is not installed.",
            where="file",
            fix="Install it with pip install 'closedcup[tables]', or use CSV.",
        ) from error
    return parquet
