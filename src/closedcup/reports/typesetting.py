"""Set a template with its data as a PDF, in memory, with the fonts that are shipped."""

from collections.abc import Mapping
from importlib.resources import files
from typing import Any

from closedcup.errors import Refused
from closedcup.reports.drawing import FONT_DIRECTORY


def typeset(template: str, inputs: Mapping[str, bytes], *, archival: bool = False) -> bytes:
    """Return the PDF of a template of this folder; `inputs` are the files that it reads.

    `archival` asks for PDF/A-3a and PDF/UA-1. A warning of the typesetter (a missing glyph, an
    unknown font) raises Refused: the document would not look as it should.
    """
    import typst  # noqa: PLC0415  (an 80 MB library: loaded when a document is made)

    main: Any = {"main": files("closedcup.reports").joinpath(template).read_bytes(), **inputs}
    pdf, warnings = typst.compile_with_warnings(
        main,
        format="pdf",
        font_paths=[str(FONT_DIRECTORY)],
        ignore_system_fonts=True,
        pdf_standards=["a-3a", "ua-1"] if archival else [],
    )
    if warnings:
        raise Refused(
            "typesetting-warning",
            "; ".join(warning.message for warning in warnings),
            where=template,
            fix="Report this with the record: the document would not look as it should.",
        )
    return bytes(pdf)
