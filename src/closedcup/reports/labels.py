"""Labels for sample containers, with a code that a phone reads: one as SVG or PDF, many on A4."""

import io
import json
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final
from xml.sax.saxutils import escape

from closedcup.errors import InputError
from closedcup.reports.glyphs import printable_throughout
from closedcup.reports.typesetting import typeset

# A common roll of labels for label printers, and a common A4 sheet of 3 × 8 (common practice)
WIDTH_MM, HEIGHT_MM = 62.0, 29.0
COLUMNS, ROWS = 3, 8
_CODE_MM: Final = 24.0
_LETTERS: Final = 24  # of a line of small print beside the code


@dataclass(frozen=True, slots=True)
class Label:
    """What a label says: the sample's id, what its code holds, lines of small print."""

    id: str
    code: str
    lines: tuple[str, ...] = ()
    laboratory: str = ""


def code_svg(text: str) -> str:
    """Return a QR code as SVG, without a size of its own; black on white, error correction M.

    Raises InputError for a text that is too long for a label.
    """
    import segno  # noqa: PLC0415  (loaded when a label is made)

    if len(text) > 200:  # beyond that the dots are too small for 24 mm (arithmetic: 0.4 mm each)
        raise InputError(
            "code-too-long",
            f"The label's code would hold {len(text)} characters.",
            where="label",
            fix="Give the pages a shorter address.",
        )
    written = io.BytesIO()
    made = segno.make(text, error="m", micro=False)
    made.save(written, kind="svg", border=2, xmldecl=False, svgclass=None, lineclass=None,
              omitsize=True, light="#fff", nl=False)  # fmt: skip
    return written.getvalue().decode()


def label_svg(label: Label) -> str:
    """Return a label as an SVG of its own size in millimetres."""
    code = code_svg(label.code).replace(
        "<svg ", f'<svg x="1" y="2.5" width="{_CODE_MM:g}" height="{_CODE_MM:g}" ', 1
    )
    lines = "".join(
        f'<text x="26.5" y="{13.0 + 3.5 * number:g}" font-size="2.8">{escape(line)}</text>'
        for number, line in enumerate(_small(label))
    )
    size = min(6.5, 34.0 / max(len(label.id), 1) / 0.6)  # a letter is about 0.6 em wide
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{WIDTH_MM:g}mm" height="{HEIGHT_MM:g}mm" '
        f'viewBox="0 0 {WIDTH_MM:g} {HEIGHT_MM:g}" role="img" '
        f'aria-label="Label of {escape(label.id, {chr(34): "&quot;"})}" '
        "font-family=\"'Source Sans 3', sans-serif\">"
        f'<rect width="{WIDTH_MM:g}" height="{HEIGHT_MM:g}" fill="#fff"/>{code}'
        f'<text x="26.5" y="8.5" font-size="{size:.2f}" font-weight="700">{escape(label.id)}</text>'
        f"{lines}</svg>"
    )


def _small(label: Label) -> list[str]:
    """Return the lines of small print, as many and as long as there is room for."""
    return [_short(line) for line in (*label.lines, label.laboratory) if line][:5]


def _short(line: str) -> str:
    return line if len(line) <= _LETTERS else f"{line[: _LETTERS - 1].rstrip()}…"


def label_pdf(label: Label) -> bytes:
    """Return a label as a PDF page of its own size."""
    return _typeset([label], {"sheet": False, "skip": 0})


def sheet_pdf(labels: Sequence[Label], *, skip: int = 0) -> bytes:
    """Return labels on A4, three in a row, eight rows; the first `skip` places stay free.

    Raises InputError for more free places than a sheet has.
    """
    if not 0 <= skip < COLUMNS * ROWS:
        raise InputError(
            "skip-impossible",
            f"{skip} places cannot be left free on a sheet of {COLUMNS * ROWS}.",
            where="skip",
            fix=f"Count the labels that are gone: 0 to {COLUMNS * ROWS - 1}.",
        )
    return _typeset(labels, {"sheet": True, "skip": skip})


def _typeset(labels: Sequence[Label], how: dict[str, object]) -> bytes:
    content, _ = printable_throughout(
        {
            **how,
            "width": WIDTH_MM,
            "height": HEIGHT_MM,
            "columns": COLUMNS,
            "rows": ROWS,
            "labels": [
                {
                    "id": label.id,
                    "lines": _small(label),
                    "code": f"code-{number}.svg",
                }
                for number, label in enumerate(labels)
            ],
        }
    )
    codes = {f"code-{n}.svg": code_svg(label.code).encode() for n, label in enumerate(labels)}
    inputs = {"content.json": json.dumps(content, ensure_ascii=False).encode(), **codes}
    return typeset("labels.typ", inputs)
