"""The tables, the same on every engine.

`events` holds the exact bytes that were hashed. The columns beside them serve look-up and
uniqueness only; `verify` compares each with the bytes. Types are those a STRICT table takes.
"""

from typing import Final

from sqlalchemy import BigInteger, Column, Index, Integer, LargeBinary, MetaData, Table, Text

# Raised by each change of the tables; a file with a greater number is from a newer program
SCHEMA_VERSION: Final = 1

metadata: Final = MetaData()

events: Final = Table(
    "events",
    metadata,
    # 64 bits on every engine: a STRICT table says INTEGER for that
    Column(
        "seq",
        Integer().with_variant(BigInteger(), "postgresql"),
        primary_key=True,
        autoincrement=False,
    ),
    Column("key", Text, nullable=False, unique=True),
    Column("subject", Text, nullable=False),
    Column("algorithm", Text, nullable=False),
    # one successor for each event: two writers can never fork the chain
    Column("previous", Text, nullable=False, unique=True),
    Column("seal", Text, nullable=False, unique=True),
    Column("canonical", LargeBinary, nullable=False),
    Index("events_by_subject", "subject", "seq"),
    sqlite_strict=True,
)

attachments: Final = Table(
    "attachments",
    metadata,
    Column("sha256", Text, primary_key=True),
    Column("name", Text, nullable=False),
    Column("content", LargeBinary, nullable=False),
    sqlite_strict=True,
)

people_names: Final = Table(
    "people_names",
    metadata,
    Column("person", Text, primary_key=True),
    Column("name", Text, nullable=False),
    sqlite_strict=True,
)

# Projections hold nothing of their own: they can be dropped, and are made again from the events.
projections: Final = MetaData()

# Raised by each change of the projections; those of another number are dropped and made again
PROJECTION_VERSION: Final = 4

projected: Final = Table(
    "projected",
    projections,
    Column("version", Integer, primary_key=True),
    # the last event that the projections know
    Column("seq", Integer().with_variant(BigInteger(), "postgresql"), nullable=False),
    sqlite_strict=True,
)

case_subjects: Final = Table(
    "case_subjects",
    projections,
    Column("noun", Text, primary_key=True),
    Column("id", Text, primary_key=True),
    Column("sample", Text, nullable=False),
    # the event that brought it, and when that was observed, in UTC
    Column("seq", Integer().with_variant(BigInteger(), "postgresql"), nullable=False),
    Column("observed_utc", Text, nullable=False),
    # the apparatus of a series or a result, the sample that an outside result is said to be of
    Column("about", Text, nullable=False),
    Index("case_subjects_by_sample", "sample"),
    Index("case_subjects_in_order", "noun", "seq"),
    Index("case_subjects_by_time", "noun", "observed_utc"),
    Index("case_subjects_by_what", "noun", "about"),
    sqlite_strict=True,
)

common_events: Final = Table(
    "common_events",
    projections,
    Column(
        "seq",
        Integer().with_variant(BigInteger(), "postgresql"),
        primary_key=True,
        autoincrement=False,
    ),
    sqlite_strict=True,
)

sample_rows: Final = Table(
    "sample_rows",
    projections,
    Column("sample", Text, primary_key=True),
    Column("seq", Integer().with_variant(BigInteger(), "postgresql"), nullable=False, unique=True),
    Column("state", Text, nullable=False),
    Column("next", Text, nullable=False),
    Column("description", Text, nullable=False),
    Column("customer", Text, nullable=False),
    Column("received_at", Text, nullable=False),
    # as agreed: "urgent", "routine" or empty; a day or empty
    Column("priority", Text, nullable=False),
    Column("due", Text, nullable=False),
    # the last day of its retention, or empty
    Column("kept_until", Text, nullable=False),
    # what a search looks into, in small letters
    Column("words", Text, nullable=False),
    Index("sample_rows_by_state", "state", "seq"),
    Index("sample_rows_by_retention", "state", "kept_until"),
    sqlite_strict=True,
)
