"""The cautions of a step, shown where the step happens."""

from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from closedcup.methods.catalogue import bibliography
from closedcup.sources import Known, load_rows, parse_known


@dataclass(frozen=True, slots=True)
class Caution:
    """One caution, with the step and the cup temperatures at which it is shown."""

    key: str
    step: str
    from_cup_c: float | None
    below_cup_c: float | None
    procedures: frozenset[str]
    text: str
    source: str
    known: Known

    def applies(self, steps: frozenset[str], cup_c: float, procedure: str) -> bool:
        """Say whether the caution belongs to one of the steps at a cup temperature."""
        return (
            self.step in steps
            and (self.from_cup_c is None or cup_c >= self.from_cup_c)
            and (self.below_cup_c is None or cup_c < self.below_cup_c)
            and self.belongs_to(procedure)
        )

    def belongs_to(self, procedure: str) -> bool:
        """Say whether a procedure has the caution; one without procedures is for all."""
        return not self.procedures or procedure in self.procedures

    def __str__(self) -> str:
        return self.text


@cache
def _all_cautions() -> tuple[Caution, ...]:
    file = files("closedcup.methods") / "data" / "cautions.csv"
    return tuple(
        Caution(
            key=row["key"],
            step=row["step"],
            from_cup_c=float(row["from_cup_c"]) if row["from_cup_c"] else None,
            below_cup_c=float(row["below_cup_c"]) if row["below_cup_c"] else None,
            procedures=frozenset(row["procedure"].split(";")) if row["procedure"] else frozenset(),
            text=row["text"],
            source=row["source"],
            known=parse_known(row["known"], where=f"cautions.csv, {row['key']}"),
        )
        for row in load_rows(file, bibliography())
    )


def cautions_of(procedure: str) -> tuple[Caution, ...]:
    """Return every caution that a procedure shows at one of its steps."""
    return tuple(one for one in _all_cautions() if one.belongs_to(procedure))


def cautions_for(
    action: str, cup_c: float, procedure: str, *, first_application: bool = False
) -> tuple[Caution, ...]:
    """Return the cautions of an action at a cup temperature, the step's own first."""
    steps = {action, "any"} if action != "done" else {action}
    if first_application:
        steps.add("first application")
    found = [
        caution
        for caution in _all_cautions()
        if caution.applies(frozenset(steps), cup_c, procedure)
    ]
    return tuple(sorted(found, key=lambda caution: caution.step == "any"))
