"""Files that were chosen on a page and are not recorded yet, while somebody looks how they read.

No browser sends a chosen file twice: it is held here, under a name of our own, until it is taken
or newer ones push it out. It is gone when the program ends.
"""

from collections import OrderedDict
from pathlib import Path
from shutil import rmtree
from tempfile import TemporaryDirectory
from typing import Final
from uuid import uuid4

from closedcup.app.web.forms import Form
from closedcup.app.web.kept_files import plain_name
from closedcup.errors import InputError

_MOST: Final = 4


class HeldFiles:
    """The last few files that were chosen on one kind of page."""

    def __init__(self) -> None:
        self._folder = TemporaryDirectory(prefix="closedcup-held-")
        self._paths: OrderedDict[str, Path] = OrderedDict()

    def chosen(self, form: Form, what: str) -> tuple[str, Path]:
        """Return the file sent now, or the one chosen before that `held` names, with its name here.

        Raises InputError, kept beside the field, where there is none; `what` says what to choose.
        """
        if form.upload is not None:
            name, content = form.upload
            return self._hold(plain_name(name), content)
        held = form.text("held")
        if held in self._paths:
            return held, self._paths[held]
        form.errors["file"] = InputError(
            "field-empty",
            "The file that was chosen is not at hand any more." if held else "No file was chosen.",
            fix="Choose it again; what you typed is kept." if held else f"Choose {what}.",
        )
        raise form.errors["file"]

    def _hold(self, name: str, content: bytes) -> tuple[str, Path]:
        held = str(uuid4())
        path = Path(self._folder.name) / held / name
        path.parent.mkdir()
        path.write_bytes(content)
        self._paths[held] = path
        while len(self._paths) > _MOST:
            self.let_go(next(iter(self._paths)))
        return held, path

    def path(self, held: str) -> Path | None:
        """Return where a file lies, None where it is not at hand."""
        return self._paths.get(held)

    def let_go(self, held: str) -> None:
        """Forget a file, if it is at hand."""
        path = self._paths.pop(held, None)
        if path is not None:
            rmtree(path.parent, ignore_errors=True)
