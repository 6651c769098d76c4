"""The report as a PDF: declared PDF/A-3a and PDF/UA-1, with the record attached, made in memory.

The same record and chart with the same program give the same bytes. The date is the record's;
fonts are those shipped with the program; a warning of the typesetter is an error.
"""

import hashlib
import json
from datetime import UTC, datetime
from typing import Final

from closedcup.errors import InputError
from closedcup.reports.appearance import ThemeName
from closedcup.reports.chart import Point, determinations_chart
from closedcup.reports.checker import require_complete
from closedcup.reports.content import Content, content_of
from closedcup.reports.drawing import Spec, svg
from closedcup.reports.glyphs import UNPRINTABLE, printable, printable_throughout
from closedcup.reports.record import Record, canonical_record_bytes, open_record
from closedcup.reports.regimes_chart import chart_of_shown
from closedcup.reports.typesetting import typeset
from closedcup.reports.wording import limit_text

LANGUAGE: Final = "en"


def record_chart(record: Record, theme: ThemeName = "light") -> Spec:
    """Return the chart of a record: its determinations, bracket, limit and reported value.

    Raises InputError if some readings were corrected for pressure before and others not: they
    would be two scales on one axis.
    """
    determinations, result, limit = (
        record["determinations"],
        record["result"],
        record["test"]["limit"],
    )
    if len({made["already_corrected"] is None for made in determinations}) > 1:
        raise InputError(
            "scales-mixed",
            "Some readings were already corrected for pressure and others were not.",
            where=f"record of report {record['report']['number']}",
            fix="Withdraw the determinations entered on the other scale.",
        )
    shift = None
    if result["corrected_c"] is not None and result["observed_cup_c"] is not None:
        shift = round(float(result["corrected_c"]) - float(result["observed_cup_c"]), 6)
    bracket = result["bracket"]
    ends = None
    if (
        shift is not None
        and bracket
        and bracket["low_c"] is not None
        and bracket["high_c"] is not None
    ):
        low, high = float(bracket["low_c"]), float(bracket["high_c"])
        ends = (round(low - shift, 6), round(high - shift, 6))
    return determinations_chart(
        [Point(d["number"], d["cup_c"], d["counts_as"], d["valid"]) for d in determinations],
        correction_c=shift,
        bracket_cup_c=ends,
        reported_c=None if shift is None else result["reported_c"],
        limit_c=float(limit["corrected_c"]) if limit and shift is not None else None,
        limit_text=printable(limit_text(limit["text"])) if limit else "",
        theme=theme,
    )


def render_pdf(record: Record, chart_svg: str) -> bytes:
    """Return the report of a record as PDF bytes.

    Raises Refused if the result is held or an item of the checker is missing, InputError if the
    record is not as its format says.
    """
    record = open_record(record)
    items = require_complete(record)
    attached = canonical_record_bytes(record)
    content = content_of(record, items, hashlib.sha256(attached).hexdigest())
    content["date"] = _document_date(record)
    content["language"] = LANGUAGE
    content["chart_alt"] = record_chart(record)["description"]
    regimes = record.get("regimes")
    drawn = None if regimes is None else chart_of_shown(regimes, near=False)
    content["regimes_alt"] = None if drawn is None else drawn["description"]
    pictures = {"chart.svg": chart_svg} | ({} if drawn is None else {"regimes.svg": svg(drawn)})
    return _typeset(_printable(content), pictures, attached)


def _document_date(record: Record) -> dict[str, int]:
    text = record["report"]["issued_at"]
    moment = datetime.fromisoformat(text)
    if moment.tzinfo is None:
        raise InputError(
            "offset-missing",
            f"{text!r} does not say its offset from UTC.",
            where="report.issued_at",
            fix="Write it like 2026-11-25T11:20:00+01:00.",
        )
    utc = moment.astimezone(UTC)
    names = ("year", "month", "day", "hour", "minute", "second")
    return {name: getattr(utc, name) for name in names}


def _printable(content: Content) -> Content:
    """Replace what has no glyph by a note, and say so among the statements."""
    shown, places = printable_throughout(content)
    if places:
        shown["statements"].append(
            f"Where this report says {UNPRINTABLE}, its typeface lacks a character; the attached "
            "record holds the text as entered."
        )
    result: Content = shown
    return result


def _typeset(content: Content, pictures: dict[str, str], attached: bytes) -> bytes:
    return typeset(
        "report.typ",
        {
            "content.json": json.dumps(content, ensure_ascii=False).encode(),
            **{name: picture.encode() for name, picture in pictures.items()},
            "record.json": attached,
        },
        archival=True,
    )
