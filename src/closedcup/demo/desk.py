"""How the demo's samples are kept: where they stand, when they are opened, what a customer said."""

from collections.abc import Callable
from typing import Protocol

from closedcup.app.opening import OpenLaboratory
from closedcup.app.usecases.desk import custody, customer
from closedcup.demo.scenario import Row
from closedcup.quantities import parse_temperature


class _Demo(Protocol):
    """What is needed of the demo: its laboratory, and entries that are made once."""

    @property
    def opened(self) -> OpenLaboratory: ...
    def once(self, key: str, act: Callable[[str], object], *, by: str = "at") -> None: ...


def store(demo: _Demo, row: Row) -> None:
    """Put a sample where it is kept; where its condition is poor, hear the customer."""
    sample, opened = row["id"], demo.opened
    demo.once(
        f"demo/custody/{sample}",
        lambda key: custody.hand_over(
            opened, sample, "at", row["stands"], giver="a courier", key=key
        ),
    )
    if "go_ahead" in row:
        who, way, words = row["go_ahead"]
        demo.once(
            f"demo/go-ahead/{sample}",
            lambda key: customer.record_go_ahead(opened, sample, who, way, words, key=key),
        )


def take_to_the_bench(demo: _Demo, row: Row) -> None:
    """Take a sample to the bench and open it, as cold as it arrived."""
    sample, opened = row["id"], demo.opened
    demo.once(
        f"demo/bench/{sample}",
        lambda key: custody.hand_over(opened, sample, "at", "at the bench", key=key),
    )
    cold = parse_temperature(f"{row['arrived_c']} degC")
    demo.once(
        f"demo/opening/{sample}",
        lambda key: custody.open_sample(opened, sample, "to take a specimen", cold, key=key),
    )
