"""A number and where it comes from; the loaders that reject a row without a source.

This package holds no data. Each part of the program keeps its own tables in its `data` folder,
with a `sources.csv` (key, citation, address) beside them.
"""

from closedcup.sources.cited import KNOWN, Cited, Known, parse_known
from closedcup.sources.tables import Bibliography, load_bibliography, load_rows

__all__ = [
    "KNOWN",
    "Bibliography",
    "Cited",
    "Known",
    "load_bibliography",
    "load_rows",
    "parse_known",
]
