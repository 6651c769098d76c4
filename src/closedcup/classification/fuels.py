"""Fuel specifications: one limit for each product, read as regimes of two rows."""

from dataclasses import replace
from functools import cache
from importlib.resources import files

from closedcup.classification.answer import SourceUse
from closedcup.classification.conditions import FlashCondition, WordCondition
from closedcup.classification.tables import AcceptedMethods, Regime, Row, bibliography, cite
from closedcup.quantities import Limit, parse_limit
from closedcup.sources import load_rows, parse_known

_FIRST_POSITION = 100  # after the regulations, in the order of the table


def _remark(entry: dict[str, str], meets: Limit) -> tuple[Row, ...]:
    if not entry["remark_when_failing"]:
        return ()
    opposite = {">=": "<", ">": "<="}[meets.operator]
    return (
        Row(
            kind="note",
            rule=entry["remark_when_failing"],
            clause=entry["clause"],
            when=(FlashCondition(Limit(opposite, meets.temperature)),),
            source=cite(entry["remark_source"]),
            known=parse_known(entry["remark_known"], where=entry["name"]),
        ),
    )


def _specification(entry: dict[str, str], position: int) -> Regime:
    limit = parse_limit(entry["limit"])
    meets = Row(
        classification="Meets",
        statement=f"Meets {entry['name']}",
        rule=f"Flash point {limit} for {entry['product']}",
        clause=entry["clause"],
        when=(FlashCondition(limit),),
        source=cite(entry["source"]),
        known=parse_known(entry["known"], where=entry["name"]),
    )
    fails = replace(meets, classification="Fails", statement=f"Fails {entry['name']}", when=())
    return Regime(
        name=entry["name"],
        title=entry["title"],
        position=position,
        edition=entry["edition"],
        in_force=None,
        superseded=None,
        classes=("Fails", "Meets"),
        rows=(*_remark(entry, limit), meets, fails),
        methods=AcceptedMethods(
            frozenset(entry["methods"].split()),
            "",
            SourceUse(
                f"test methods: {entry['clause']}",
                cite(entry["source"]),
                parse_known(entry["methods_known"], where=entry["name"]),
            ),
        ),
        confirmation=None,
        printed_also=(),
        applies=(WordCondition("product", frozenset({entry["product"]})),),
    )


@cache
def fuel_specifications() -> tuple[Regime, ...]:
    """Return the specifications on file; each applies to its own product only."""
    table = files(__package__) / "data" / "fuel_specifications.csv"
    return tuple(
        _specification(entry, _FIRST_POSITION + number)
        for number, entry in enumerate(load_rows(table, bibliography()))
    )
