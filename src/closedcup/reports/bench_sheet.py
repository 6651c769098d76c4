"""A bench sheet as a PDF: blank or filled in as far as the plan goes."""

import json
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from closedcup.reports.glyphs import printable_throughout
from closedcup.reports.typesetting import typeset

ROWS: Final = 14
ROWS_OF_A_RUN: Final = 26  # one for each application: 18 to 28 °C at 1 °C
_INSET_PT: Final = {ROWS: 9.5, ROWS_OF_A_RUN: 5.0}


@dataclass(frozen=True, slots=True)
class BenchSheet:
    """What a sheet says: facts (empty ones are lines to write on), cautions, the rule, set points.

    `letters` are the words for what can be seen, each with the letter to write; `set_points` are
    the temperatures known beforehand, as text.
    """

    title: str
    facts: Sequence[tuple[str, str]]
    cautions: Sequence[str]
    rule: str
    letters: Sequence[tuple[str, str]]
    set_points: Sequence[str]
    demonstration: bool = False
    is_run: bool = False
    """Whether one specimen is heated through all lines."""


def render_bench_sheet(sheet: BenchSheet) -> bytes:
    """Return the sheet as PDF bytes; the same sheet gives the same bytes."""
    count = ROWS_OF_A_RUN if sheet.is_run else ROWS
    points = [*sheet.set_points, *[""] * count][:count]
    content, _ = printable_throughout(
        {
            "title": sheet.title,
            "facts": [{"label": label, "text": text} for label, text in sheet.facts],
            "cautions": list(sheet.cautions),
            "rule": sheet.rule,
            "letters": [{"letter": letter, "word": word} for letter, word in sheet.letters],
            "rows": [[str(n), point, *[""] * 7] for n, point in enumerate(points, start=1)],
            "demonstration": sheet.demonstration,
            "row_inset": _INSET_PT[count],
        }
    )
    return typeset(
        "bench_sheet.typ", {"content.json": json.dumps(content, ensure_ascii=False).encode()}
    )
