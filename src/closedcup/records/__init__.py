"""The laboratory's records: events appended, sealed onto one another, read in order.

Here live the one narrow storage port and what implements it: the envelope of an event, its
canonical bytes, the chain of seals, the check of that chain, the engines. No arithmetic of the
trade lives here, and nothing changes without an event (names of people apart: they can be erased).

    canonical    one value, one row of bytes      chain         the seal
    events       the envelope                     store         the port
    database     the port on SQL tables           tables        those tables
    upcasts      old events in today's shape      location      where the records are
    sealing      rows, each sealed onto another   verify        is all as it was recorded?
    sqlite, postgresql            what is special about each engine
    sqlite_file, network_share    whose file is it, and is it on another computer?
    copying      from one place to another        backups       in one file, checked by restoring
    projections  what is kept to find things      belonging     which events are of one sample
    documents    what lies beside the events, and names of people
    access       passwords' hashes, sessions      access_rules  what holds for them, with sources
    archive      all in one file, no database     merkle        one entry proved without the rest

    ledger       the state of the laboratory      folding       what each kind of event does to it
    folding_…    the same, subject by subject     following     the state, kept up to date
    cases        a sample, folded when looked at  case_shelf    the ledger over all samples
    encoding     a laboratory value as a body     facts         what exists only by being recorded
    standing     where a sample stands, and what comes next

The last five rows know the laboratory's values and are imported by their own names.
"""

from closedcup.records.canonical import canonical_bytes, read_canonical
from closedcup.records.chain import Head, PrintedSeal, digest, format_seal, parse_seal
from closedcup.records.events import Event, NewEvent
from closedcup.records.location import default_url, open_store
from closedcup.records.store import Attachment, Durability, Store, StoredEvent, UnknownOutcome
from closedcup.records.verify import Check, Problem, check

__all__ = [
    "Attachment",
    "Check",
    "Durability",
    "Event",
    "Head",
    "NewEvent",
    "PrintedSeal",
    "Problem",
    "Store",
    "StoredEvent",
    "UnknownOutcome",
    "canonical_bytes",
    "check",
    "default_url",
    "digest",
    "format_seal",
    "open_store",
    "parse_seal",
    "read_canonical",
]
