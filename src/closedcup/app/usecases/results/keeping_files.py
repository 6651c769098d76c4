"""Keep a photograph or the apparatus's own file beside a result, as it came, with its hash."""

from typing import Any

from closedcup.app.opening import OpenLaboratory
from closedcup.app.usecases.lookup import find
from closedcup.errors import InputError
from closedcup.records.facts import KeptFile

LARGEST_BYTES = 20_000_000
"""Records are copied at each backup; a trace or a photograph is far smaller."""


def keep_file(
    opened: OpenLaboratory,
    result_id: str,
    name: str,
    content: bytes,
    what: str,
    *,
    key: str | None = None,
) -> dict[str, Any]:
    """Keep a file beside a result; it is never changed and never taken away."""
    find(opened.permit("file-kept").results, result_id, "result")
    if not content:
        raise InputError(
            "file-empty", f"“{name}” is empty.", where=name, fix="Choose another file."
        )
    if len(content) > LARGEST_BYTES:
        raise InputError(
            "file-too-large",
            f"“{name}” has {len(content) / 1e6:.0f} MB.",
            where=name,
            fix=f"Keep at most {LARGEST_BYTES / 1e6:.0f} MB beside a result.",
        )
    digest = opened.store.attach(name, content)
    kept = KeptFile(result_id, name, digest, len(content), what)
    opened.record("file-kept", result_id, kept, key=key)
    return {"result": result_id, "name": name, "sha256": digest, "bytes": len(content)}


def kept_files(opened: OpenLaboratory, result_id: str) -> list[dict[str, Any]]:
    """Return the files kept beside a result."""
    return [
        {"name": kept.name, "sha256": kept.sha256, "bytes": kept.size, "what": kept.what}
        for kept in opened.state.files.get(result_id, ())
    ]


def kept_content(opened: OpenLaboratory, result_id: str, sha256: str) -> tuple[str, bytes]:
    """Return a kept file's name and content, checked against its hash."""
    for kept in opened.state.files.get(result_id, ()):
        if kept.sha256 == sha256:
            return kept.name, opened.store.attachment(sha256).content
    raise InputError(
        "file-unknown", "No such file is kept beside this result.", where=f"result {result_id}"
    )
