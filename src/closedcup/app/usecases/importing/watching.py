"""A folder in which an apparatus, or a person, leaves files: each is taken in once.

Files are read and never moved, changed or deleted. One that cannot be taken in whole is told once
and left alone until it changes.
"""

from collections.abc import Iterator
from pathlib import Path
from typing import Any, Final

from closedcup.app.opening import OpenLaboratory
from closedcup.app.usecases.importing.files import import_file, look_at
from closedcup.app.usecases.importing.run import sha256_of
from closedcup.app.usecases.lookup import find
from closedcup.app.usecases.nonconforming.failures import note_found
from closedcup.errors import ClosedcupError, InputError

Answer = dict[str, Any]

_READ: Final = (".csv", ".tsv", ".txt", ".xlsx", ".ods", ".json", ".jsonl")
# A file that is still being written is smaller at one look than at the next
_Stamp = tuple[int, int]


class Watch:
    """Looks into one folder, reading its files by one kept mapping."""

    def __init__(self, opened: OpenLaboratory, folder: Path, mapping: str) -> None:
        """Raise InputError where there is no such folder or no such mapping."""
        if not folder.is_dir():
            raise InputError(
                "folder-missing",
                "There is no such folder.",
                where=str(folder),
                fix="Name the folder in which the files are left.",
            )
        self._opened, self._folder, self._mapping = opened, folder, mapping
        self._kind = find(opened.state.import_mappings, mapping, "mapping").kind
        self._seen: dict[Path, _Stamp] = {}
        self._done: dict[Path, _Stamp] = {}

    def look(self) -> Iterator[Answer]:
        """Take in the files that did not change since the last look, and say what became of each.

        The first look takes those that were there before this minute.
        """
        for path in sorted(self._folder.iterdir()):
            if not path.is_file() or path.suffix.lower() not in _READ or path.name.startswith("."):
                continue
            state = path.stat()
            stamp = (state.st_size, state.st_mtime_ns)
            is_settled = self._seen.get(path) == stamp or self._is_old(state.st_mtime)
            self._seen[path] = stamp
            if self._done.get(path) == stamp or not is_settled:
                continue
            self._done[path] = stamp
            if not self._is_known(path):
                yield self._take(path)

    def _is_old(self, changed_at: float) -> bool:
        return self._opened.clock().timestamp() - changed_at > 60

    def _is_known(self, path: Path) -> bool:
        sha256 = sha256_of(path)
        return sha256 in self._opened.state.imported

    def _take(self, path: Path) -> Answer:
        try:
            read = look_at(self._opened, self._kind, str(path), kept=self._mapping)
            answer = import_file(self._opened, read, good_rows_only=False)
        except ClosedcupError as error:
            noted = note_found(
                self._opened,
                f"file-refused/{sha256_of(path)}",
                f"The file {path.name} in a watched folder was not taken in: {error}",
                "None yet: nothing of it is on record. Mend the file or how it is read.",
            )
            return {
                "file": str(path),
                "recorded": 0,
                "refused_because": str(error),
                **noted,
            }
        return {"file": str(path), "recorded": answer["recorded"], "refused_because": None}
