"""Decision tables: what a row, a regime and its side rules are, and how they are read."""

import datetime as dt
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import cache
from importlib.resources import files
from importlib.resources.abc import Traversable
from typing import Any, Literal

from closedcup.classification.answer import SourceUse
from closedcup.classification.conditions import Condition, read_conditions
from closedcup.classification.viscous import viscous_entries
from closedcup.errors import Damaged
from closedcup.quantities import Temperature, parse_difference, parse_temperature
from closedcup.sources import Bibliography, Known, load_bibliography, parse_known

# base: decides; without its evidence the answer stays open.
# relief: a milder class, given only on evidence; what is missing is listed.
# special: another class for a special case; applies only when it is told.
# note: decides nothing, adds a note.
Kind = Literal["base", "relief", "special", "note"]


@dataclass(frozen=True, slots=True)
class Proviso:
    """A condition that the rule makes and that may stand unconfirmed, in words."""

    words: str
    conditions: tuple[Condition, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One row of a decision table; the first row that holds decides.

    `when` must hold; `if_given` must hold as far as the evidence is known; `provided` is stated
    with the answer where it is not known and denies the row where it is known not to hold.
    `asked` relief lists its missing evidence always, other relief once some of it is there.
    """

    kind: Kind = "base"
    classification: str = ""
    statement: str = ""
    hazard_statement: str = ""
    rule: str
    clause: str
    subject: str = ""
    asked: bool = False
    when: tuple[Condition, ...] = ()
    if_given: tuple[Condition, ...] = ()
    provided: tuple[Proviso, ...] = ()
    source: str
    known: Known

    @property
    def source_use(self) -> SourceUse:
        """The row as an entry of `sources`."""
        return SourceUse(f"{self.classification or 'note'}: {self.clause}", self.source, self.known)


@dataclass(frozen=True, slots=True)
class AcceptedMethods:
    """The test methods that a regime names, and the editions of them where it names those.

    `viscous` are the only ones for a viscous liquid, where the regime says so.
    """

    method_ids: frozenset[str]
    remark: str
    source_use: SourceUse
    editions: Mapping[str, str] = field(default_factory=dict)
    viscous: "AcceptedMethods | None" = None


@dataclass(frozen=True, slots=True)
class Confirmation:
    """Where a non-equilibrium result has to be confirmed by an equilibrium method.

    `binding` is False where the regime does not ask for it and good practice does.
    """

    limits: tuple[Temperature, ...]
    within_c: float
    clause: str
    source_use: SourceUse
    binding: bool


@dataclass(frozen=True, slots=True)
class PrintedAlso:
    """A limit that the rule prints in a second unit, or that copies print differently."""

    limit: Temperature
    other: Temperature
    source_use: SourceUse


@dataclass(frozen=True, slots=True)
class Regime:
    """One regime in one edition. `classes` runs from the most to the least severe.

    `applies` are conditions on the sample; where `supposed` says them in words they may stand
    unconfirmed, otherwise the regime is asked only where they are known to hold. A regime that is
    `only_when_asked` is kept to read old documents, or rests on another cup.
    """

    name: str
    title: str
    position: int
    edition: str
    in_force: dt.date | None
    superseded: dt.date | None
    classes: tuple[str, ...]
    rows: tuple[Row, ...]
    methods: AcceptedMethods
    confirmation: Confirmation | None
    printed_also: tuple[PrintedAlso, ...]
    applies: tuple[Condition, ...]
    supposed: str = ""
    only_when_asked: bool = False


@cache
def bibliography() -> Bibliography:
    """Return the sources of the decision tables."""
    return load_bibliography(files(__package__) / "data" / "sources.csv")


def cite(keys: str) -> str:
    """Return the citations of one or several keys ("a + b") in words."""
    return "; ".join(bibliography().cite(key) for key in keys.split(" + "))


def source_use(value_of: str, table: Mapping[str, Any], where: str) -> SourceUse:
    """Read `source` and `known` of a table; raise Damaged where they are missing."""
    if not table.get("source"):
        raise Damaged("source-empty", f"{value_of} has no source.", where=where)
    return SourceUse(
        value_of, cite(table["source"]), parse_known(table.get("known", ""), where=where)
    )


def _provisos(table: Mapping[str, Any], where: str) -> tuple[Proviso, ...]:
    return tuple(
        Proviso(entry["words"], read_conditions(entry["when"], where=where))
        for entry in table.get("provided", [])
    )


def _read_row(entry: Mapping[str, Any], groups: Mapping[str, Mapping[str, Any]], where: str) -> Row:
    group = groups[entry["group"]] if "group" in entry else {}
    merged = {**group, **entry}
    cited = source_use(merged["clause"], merged, where)
    kind = merged.get("kind", "base")
    if kind not in ("base", "relief", "special", "note"):
        raise Damaged("row-kind-unknown", f"“{kind}” is not a kind of row.", where=where)

    def conditions(key: str) -> tuple[Condition, ...]:
        return tuple(
            condition
            for table in (group, entry)
            for condition in read_conditions(table.get(key, {}), where=where)
        )

    classification = merged.get("classification", "")
    return Row(
        kind=kind,
        classification=classification,
        statement=merged.get("statement", classification),
        hazard_statement=merged.get("hazard_statement", ""),
        rule=merged["rule"],
        clause=merged["clause"],
        subject=merged.get("subject", ""),
        asked=merged.get("asked", False),
        when=conditions("when"),
        if_given=conditions("if_given"),
        provided=_provisos(group, where) + _provisos(entry, where),
        source=cited.source,
        known=cited.known,
    )


def _each_entry(entry: dict[str, Any]) -> list[dict[str, Any]]:
    """Return the entry, or one for each row of the table that it names."""
    return list(viscous_entries(entry, bibliography())) if "each_of" in entry else [entry]


def _read_confirmation(table: Mapping[str, Any] | None, where: str) -> Confirmation | None:
    if table is None:
        return None
    return Confirmation(
        limits=tuple(parse_temperature(text, where=where) for text in table["limits"]),
        within_c=parse_difference(table["within"], where=where).c,
        clause=table["clause"],
        source_use=source_use(f"confirmation: {table['clause']}", table, where),
        binding=table.get("binding", True),
    )


def read_methods(table: Mapping[str, Any], where: str) -> AcceptedMethods:
    """Read which test methods a regime names."""
    return AcceptedMethods(
        method_ids=frozenset(table["accepted"]),
        remark=table.get("remark", ""),
        source_use=source_use(f"test methods: {table['clause']}", table, where),
        editions=table.get("editions", {}),
        viscous=read_methods(table["viscous"], where) if "viscous" in table else None,
    )


def read_regime(file: Traversable) -> Regime:
    """Read one TOML table; raise Damaged for a class not listed or a source not known."""
    table = tomllib.loads(file.read_text(encoding="utf-8"))
    where = file.name
    groups = table.get("groups", {})
    entries = [row for entry in table["rows"] for row in _each_entry(entry)]
    rows = tuple(_read_row(entry, groups, where) for entry in entries)
    classes = tuple(table["classes"])
    for row in rows:
        if row.kind != "note" and row.classification not in classes:
            raise Damaged("class-unlisted", f"“{row.classification}” is not listed.", where=where)
    return Regime(
        name=table["name"],
        title=table["title"],
        position=table["position"],
        edition=table["edition"],
        in_force=table.get("in_force"),
        superseded=table.get("superseded"),
        classes=classes,
        rows=rows,
        methods=read_methods(table["methods"], where),
        confirmation=_read_confirmation(table.get("confirmation"), where),
        printed_also=tuple(
            PrintedAlso(
                parse_temperature(entry["limit"], where=where),
                parse_temperature(entry["other"], where=where),
                source_use(f"{entry['limit']} printed as {entry['other']}", entry, where),
            )
            for entry in table.get("printed_also", [])
        ),
        applies=read_conditions(table.get("applies", {}), where=where),
        supposed=table.get("supposed", ""),
        only_when_asked=table.get("only_when_asked", False),
    )


def with_reading(regime: Regime, reading: PrintedAlso) -> Regime:
    """Return the regime with one printed limit replaced by its other reading."""

    def reread(conditions: tuple[Condition, ...]) -> tuple[Condition, ...]:
        return tuple(c.with_limit(reading.limit, reading.other) for c in conditions)

    return replace(
        regime,
        rows=tuple(
            replace(row, when=reread(row.when), if_given=reread(row.if_given))
            for row in regime.rows
        ),
    )
