"""Hand records over: the whole laboratory as one archive, or one result with proof."""

import json
from datetime import UTC
from pathlib import Path
from typing import Any, Final

from closedcup import __version__
from closedcup.app.opening import OpenLaboratory
from closedcup.app.usecases.lookup import find
from closedcup.errors import InputError
from closedcup.records import Event, open_store
from closedcup.records.archive import open_archive, require_archive, write_archive
from closedcup.records.copying import Progress, no_progress
from closedcup.records.merkle import inclusion_path, is_included, leaf_hash, root_of

Answer = dict[str, Any]
_PROOF: Final = "closedcup-inclusion-proof"
_ROOT_BYTES: Final = 32  # SHA-256


def take_archive(
    opened: OpenLaboratory,
    file: str,
    *,
    with_names: bool = True,
    progress: Progress = no_progress,
) -> Answer:
    """Write the whole laboratory into one file that another closedcup opens and verifies."""
    opened.permit("records-handed-over")
    manifest = write_archive(
        opened.store,
        Path(file),
        taken_at=opened.clock().astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ"),
        program=__version__,
        with_names=with_names,
        progress=progress,
    )
    return {"file": file, **manifest}


def unpack_archive(file: str, url: str, progress: Progress = no_progress) -> Answer:
    """Open an archive into an empty place at an address, every seal checked."""
    require_archive(Path(file))
    with open_store(url) as target:
        copied = open_archive(Path(file), target, progress=progress)
        return {
            "to": target.place,
            "events": copied.events,
            "seal": copied.head.seal,
            "documents": copied.documents,
            "people": copied.people,
            "intact": True,
        }


def tree_head(opened: OpenLaboratory, size: int | None = None) -> Answer:
    """Return the root over all events, or over the first so many: what an auditor keeps."""
    opened.permit("records-read")
    leaves = _leaves(opened, size)
    return {"tree_size": len(leaves), "root": root_of(leaves).hex()}


def prove_result(opened: OpenLaboratory, result_id: str) -> Answer:
    """Return a result as issued with the proof that it is in the records, and nothing else.

    Whoever knows the root of the tree can check it without the records: RFC 9162, 2.1.3.
    """
    result = find(opened.state.results, result_id, "result")
    sample = opened.state.tests[result.test].sample
    issued = next(
        event
        for event in opened.events_of(sample)
        if event.type == "result-issued" and event.subject == result_id
    )
    leaves = _leaves(opened)
    index = issued.seq - 1
    return {
        "format": _PROOF,
        "version": 1,
        "result": result_id,
        "event": _canonical(opened, issued),
        "leaf_index": index,
        "tree_size": len(leaves),
        "root": root_of(leaves).hex(),
        "path": [each.hex() for each in inclusion_path(leaves, index)],
    }


def check_proof(file: str, root: str | None = None) -> Answer:
    """Check a proof against a root known from elsewhere; without one only that it is consistent.

    Raises InputError for a file that is no proof, or a root that is none.
    """
    known = None if root is None else _root_in(root)
    try:
        proof = json.loads(Path(file).read_bytes())
        event = json.loads(proof["event"])
        included = is_included(
            leaf_hash(proof["event"].encode()),
            proof["leaf_index"],
            proof["tree_size"],
            [bytes.fromhex(each) for each in proof["path"]],
            known or bytes.fromhex(proof["root"]),
        )
        return {
            "included": included
            and proof["format"] == _PROOF
            and event["seq"] == proof["leaf_index"] + 1,
            "root_known": root is not None,
            "event": event["seq"],
            "result": event["subject"],
            "observed_at": event["observed_at"],
            "statement": event["body"]["statement"],
            "reported_c": event["body"]["reported_c"],
        }
    except (OSError, ValueError, KeyError, TypeError) as error:
        raise InputError(
            "proof-unreadable",
            f"This is no proof of a result: {error}.",
            where=file,
            fix="Name a file that `closedcup prove` wrote.",
        ) from error


def _root_in(text: str) -> bytes:
    try:
        root = bytes.fromhex(text)
    except ValueError:
        root = b""
    if len(root) != _ROOT_BYTES:
        raise InputError(
            "root-unreadable",
            f"“{text}” is no root of a tree.",
            where="root",
            fix="Give the 64 hexadecimal digits that `closedcup tree-head` shows.",
        )
    return root


def _leaves(opened: OpenLaboratory, size: int | None = None) -> list[bytes]:
    last = opened.store.head().seq
    if size is not None and not 0 < size <= last:
        raise InputError(
            "size-unusable",
            f"There are {last} events; a root over {size} cannot be given.",
            where="size",
            fix=f"Give a size from 1 to {last}.",
        )
    wanted = last if size is None else size
    return [leaf_hash(row.canonical) for row in opened.store.stored() if row.seq <= wanted]


def _canonical(opened: OpenLaboratory, event: Event) -> str:
    return next(iter(opened.store.stored(event.seq - 1))).canonical.decode()
