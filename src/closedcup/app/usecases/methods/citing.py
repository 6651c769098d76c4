"""Say sources in words: a method's numbers name theirs by a key of the methods' bibliography."""

from closedcup.methods import bibliography

Entry = dict[str, str]


def in_words(entries: list[Entry]) -> list[Entry]:
    """Return entries of a `sources` list with each key replaced by its citation."""
    cited = bibliography()
    worded = []
    for entry in entries:
        key, comma, clause = entry["source"].partition(", ")
        known_key = key in cited.citations
        source = cited.cite(key) + comma + clause if known_key else entry["source"]
        worded.append({**entry, "source": source})
    return worded
