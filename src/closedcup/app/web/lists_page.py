"""Take in a list: choose the file, see how each column is read, mend that, then record."""

from pathlib import Path
from typing import Any, Final

from starlette.responses import Response

from closedcup.app.usecases.importing import files
from closedcup.app.usecases.importing.cells import DATE_ORDERS
from closedcup.app.usecases.importing.fields import fields_of, kinds
from closedcup.app.usecases.importing.run import Read
from closedcup.app.web.forms import Form
from closedcup.app.web.held_files import HeldFiles
from closedcup.app.web.rendering import Visit, page, status_of
from closedcup.errors import ClosedcupError

_HELD: Final = HeldFiles()
_REFUSED_SHOWN: Final = 50
_KINDS: Final = {
    "samples": "Samples that arrived",
    "results": "Results made elsewhere or earlier",
    "verifications": "Verifications of earlier years",
    "liquids": "Own values of liquids",
    "compositions": "Compositions of samples",
}
_DATES: Final = [("", "year first, 2026-03-02"), *((order, order) for order in DATE_ORDERS[1:])]
_MARKS: Final = [("", "as the numbers show"), (".", "point, 1.5"), (",", "comma, 1,5")]


def show(visit: Visit) -> Response:
    """Show the form that takes a file."""
    return _answer(visit)


def act(visit: Visit) -> Response:
    """Show how a file is read, or record what is new in it; nothing typed is lost."""
    form = visit.form
    read: Read | None = None
    try:
        path = _file(form)
        kind = form.text("kind", required="Say what is in the list.")
        if form.errors:
            raise next(iter(form.errors.values()))
        read = _read(visit, kind, path, with_rows=False)
        read = _read(visit, kind, path)
        press = form.text("press")
        if form.upload is not None or press not in ("all", "good"):
            return _answer(visit, read=read)
        done = files.import_file(visit.opened, read, good_rows_only=press == "good")
        if name := form.text("keep_as"):
            files.keep_mapping(visit.opened, name, read)
        _HELD.let_go(form.text("held"))
        return _answer(visit, done=done)
    except ClosedcupError as error:
        if not form.errors:
            form.refused = error
        status = status_of(error, visit.request.path_params)
        return _answer(visit, read=read, status=status)


def _file(form: Form) -> Path:
    """Return the file that was sent now, or the one chosen before."""
    held, path = _HELD.chosen(form, "the list")
    if form.upload is not None:
        form.typed = {"kind": form.text("kind"), "kept": form.text("kept"), "held": held}
    return path


def _read(visit: Visit, kind: str, path: Path, *, with_rows: bool = True) -> Read:
    form = visit.form
    said = [field.name for field in fields_of(kind) if f"column-{field.name}" in form.typed]
    return files.look_at(
        visit.opened,
        kind,
        str(path),
        kept=form.text("kept"),
        columns=[f"{name}={form.text(f'column-{name}')}" for name in said],
        units=[f"{name}={form.text(f'unit-{name}')}" for name in said],
        decimal=form.text("decimal"),
        dates=form.text("dates"),
        encoding=form.text("encoding"),
        sheet=form.text("sheet"),
        with_rows=with_rows,
    )


def _answer(
    visit: Visit,
    *,
    read: Read | None = None,
    done: dict[str, Any] | None = None,
    status: int = 200,
) -> Response:
    seen = None if read is None else files.dry_run(read)
    refused = [] if seen is None else [row for row in seen["fates"] if row["fate"] == "refused"]
    kept = visit.opened.state.import_mappings
    return page(
        visit,
        "lists.html",
        status=status,
        form=visit.form,
        kinds=[(kind, _KINDS[kind]) for kind in kinds()],
        mappings=[("", "guessed from the headings")]
        + [(name, f"{name} ({mapping.kind})") for name, mapping in kept.items()],
        marks=_MARKS,
        dates=_DATES,
        seen=seen,
        name="" if read is None else read.path.name,
        headings=() if read is None else read.table.headings,
        refused=refused[:_REFUSED_SHOWN],
        refused_more=max(len(refused) - _REFUSED_SHOWN, 0),
        done=done,
    )
