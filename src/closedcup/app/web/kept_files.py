"""Files beside a result: a photograph, the apparatus's own record; kept as they came."""

from pathlib import PurePosixPath
from typing import Final

from starlette.responses import Response

from closedcup.app.usecases.lookup import find
from closedcup.app.usecases.results import keeping_files
from closedcup.app.web.recording import recorded, refuse_faulty
from closedcup.app.web.rendering import Visit
from closedcup.app.web.samples import sample_page
from closedcup.errors import InputError

_ENDINGS: Final = frozenset({"csv", "jpeg", "jpg", "json", "pdf", "png", "txt", "xml"})
_LONGEST_NAME: Final = 120


def keep(visit: Visit) -> Response:
    """Keep a file beside a result."""
    form, result_id = visit.form, visit.path("result")
    ledger = visit.opened.state
    test = ledger.tests[find(ledger.results, result_id, "result").test]

    def record() -> None:
        what = form.text("what", required="Say what it shows.")
        if form.upload is None:
            form.errors["file"] = InputError(
                "field-empty", "No file was chosen.", fix="Choose one."
            )
        refuse_faulty(form)
        if form.upload is not None:
            name, content = form.upload
            keeping_files.keep_file(
                visit.opened, result_id, plain_name(name), content, what, key=form.key
            )

    return recorded(
        visit,
        record,
        lambda status: sample_page(visit, test.sample, faulty=f"file-{result_id}", status=status),
        f"/samples/{test.sample}#test-{test.id}",
    )


def plain_name(name: str) -> str:
    """Return the last part of a file's name, without folders and what cannot be printed."""
    last = name.replace("\\", "/").rpartition("/")[2]
    printable = "".join(letter for letter in last if letter.isprintable()).strip()
    return printable[-_LONGEST_NAME:] or "unnamed"


def send(visit: Visit) -> Response:
    """Send a kept file to be saved, under a name of our own; it is never shown as a page."""
    result_id, sha256 = visit.path("result"), visit.path("file")
    find(visit.opened.state.results, result_id, "result")
    name, content = keeping_files.kept_content(visit.opened, result_id, sha256)
    ending = PurePosixPath(name).suffix.removeprefix(".").lower()
    saved_as = f"{result_id}-{sha256[:12]}.{ending if ending in _ENDINGS else 'bin'}"
    return Response(
        content,
        media_type="application/octet-stream",
        headers={"Content-Disposition": f'attachment; filename="{saved_as}"'},
    )
