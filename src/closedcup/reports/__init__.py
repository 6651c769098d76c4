"""From finished facts to charts, documents and machine-readable records.

A record (record.py with record_of_test.py and record_of_meaning.py) says what was issued;
checker.py says whether it may be a report; chart.py and drawing.py make the one picture that page
and document share; content.py words the document and report.typ sets it. Never here: storage, the
clock, or a number computed or rounded anew.
"""

from closedcup.reports.appearance import Theme, ThemeName
from closedcup.reports.chart import Point, determinations_chart
from closedcup.reports.checker import Item, check, require_complete
from closedcup.reports.contributions_chart import contributions_chart
from closedcup.reports.control_chart import ChartedPoint, control_chart
from closedcup.reports.document import record_chart, render_pdf
from closedcup.reports.drawing import svg
from closedcup.reports.record import Record, canonical_record_bytes, open_record
from closedcup.reports.regimes_chart import chart_of_shown, regimes_chart
from closedcup.reports.round_chart import SiteFigures, round_chart

__all__ = [
    "ChartedPoint",
    "Item",
    "Point",
    "Record",
    "SiteFigures",
    "Theme",
    "ThemeName",
    "canonical_record_bytes",
    "chart_of_shown",
    "check",
    "contributions_chart",
    "control_chart",
    "determinations_chart",
    "open_record",
    "record_chart",
    "regimes_chart",
    "render_pdf",
    "require_complete",
    "round_chart",
    "svg",
]
