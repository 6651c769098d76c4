"""Tables for other programs: columns with their units, and the four kinds of file they go into.

What each column means stands in `data/columns.csv`. Here a finished table becomes a file; what is
in its rows is decided above. Numbers stay numbers, and no text can become a formula.
"""

from closedcup.reports.tables.columns import Column, Table, columns_of, table_names
from closedcup.reports.tables.files import FORMATS, format_of, write_dictionary, write_table

__all__ = [
    "FORMATS",
    "Column",
    "Table",
    "columns_of",
    "format_of",
    "table_names",
    "write_dictionary",
    "write_table",
]
