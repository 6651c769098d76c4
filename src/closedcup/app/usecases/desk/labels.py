"""Labels for containers: one for a label printer, or a sheet of them."""

import os
from collections.abc import Sequence
from pathlib import Path
from urllib.parse import quote

from closedcup.app.opening import OpenLaboratory
from closedcup.app.usecases.lookup import find
from closedcup.errors import InputError
from closedcup.laboratory import Sample
from closedcup.reports.labels import Label, label_pdf, label_svg, sheet_pdf


def page_address(sample_id: str, address: str = "") -> str:
    """Return the address of a sample's page; empty where the pages' own address is not known.

    address: of the pages, as phones at the bench reach them; else `CLOSEDCUP_ADDRESS`.
    """
    base = (address or os.environ.get("CLOSEDCUP_ADDRESS", "")).strip().rstrip("/")
    if not base:
        return ""
    if not base.startswith(("http://", "https://")):
        raise InputError(
            "address-unusable",
            f"“{base}” is not the address of a page.",
            where="address",
            fix="Give it as phones reach it: https://lab.example:8460",
        )
    return f"{base}/samples/{quote(sample_id, safe='')}"


def label_of(opened: OpenLaboratory, sample_id: str, address: str = "") -> Label:
    """Return what a sample's label says; its code holds the page's address, or the id without one.

    Nothing personal stands on it: neither customer nor names.
    """
    ledger = opened.state
    sample = find(ledger.samples, sample_id, "sample")
    site = ledger.site
    return Label(
        id=sample.id,
        code=page_address(sample.id, address) or sample.id,
        lines=tuple(line for line in _lines(sample) if line),
        laboratory="" if site is None else site.name,
    )


def _lines(sample: Sample) -> tuple[str, ...]:
    back = "" if sample.kept_back_ml is None else f"keep back {float(sample.kept_back_ml):g} mL"
    due = f"due {sample.due}" if sample.due else ""
    urgent = "URGENT" if sample.priority == "urgent" else ""
    return (
        sample.description,
        f"received {sample.received_at[:10]}",
        ", ".join(each for each in (urgent, due) if each),
        back,
        "; ".join(sample.hazards),
    )


def label_file(opened: OpenLaboratory, sample_id: str, name: str, address: str = "") -> bytes:
    """Return one label as its file's name asks: .svg, or .pdf of the label's own size."""
    label = label_of(opened, sample_id, address)
    match Path(name).suffix.lower():
        case ".svg":
            return label_svg(label).encode()
        case ".pdf":
            return label_pdf(label)
    raise InputError(
        "label-form-unknown",
        f"“{name}” names no form of a label.",
        where="to",
        fix="End it in .svg or .pdf.",
    )


def label_sheet(
    opened: OpenLaboratory,
    sample_ids: Sequence[str],
    address: str = "",
    *,
    skip: int = 0,
    name: str = "labels.pdf",
) -> bytes:
    """Return labels on A4 sheets, as PDF; `skip` leaves the used places of the first sheet free."""
    if not sample_ids:
        raise InputError("samples-missing", "No sample was named.", where="label")
    if Path(name).suffix.lower() != ".pdf":
        raise InputError(
            "label-form-unknown",
            f"A sheet of labels is a PDF; “{name}” names none.",
            where="to",
            fix="End it in .pdf.",
        )
    return sheet_pdf([label_of(opened, each, address) for each in sample_ids], skip=skip)
