"""Before any temperature: what the sample's hazards ask for."""

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Final, Literal, get_args

from closedcup.errors import Damaged, InputError
from closedcup.methods import Method, parse_product
from closedcup.sources import Known, load_bibliography, load_rows, parse_known

Consequence = Literal["none", "smallest volume", "named reviewer", "refuse"]

# Small-scale methods take 2 to 4 mL; ADR 2.3.3.1.3 asks about 2 mL for dangerous samples (memory).
_SMALLEST_SPECIMEN_ML: Final = 4.0
_SEVERITY: Final[tuple[Consequence, ...]] = get_args(Consequence)


@dataclass(frozen=True, slots=True)
class StopItem:
    """One hazard of the sample and what it asks for; `because` names the components."""

    hazard: str
    because: tuple[str, ...]
    consequence: Consequence
    smallest_volume: bool
    confirm: str
    caution: str
    source: str
    known: Known


@dataclass(frozen=True, slots=True)
class StopDecision:
    """All items and the strictest consequence among them."""

    items: tuple[StopItem, ...]
    consequence: Consequence
    smallest_volume: bool

    @property
    def refused(self) -> bool:
        """Whether no temperature is given at all."""
        return self.consequence == "refuse"

    @property
    def why(self) -> tuple[str, ...]:
        """One sentence for each item."""
        return tuple(
            f"{item.hazard} ({', '.join(item.because)}): {item.consequence}. {item.caution}"
            for item in self.items
        )


@dataclass(frozen=True, slots=True)
class _Rule:
    consequence: Consequence
    smallest_volume: bool
    confirm: str
    caution: str
    source: str
    known: Known


@cache
def _rules() -> dict[str, _Rule]:
    folder = files("closedcup.planning") / "data"
    rows = load_rows(folder / "stop_list.csv", load_bibliography(folder / "sources.csv"))
    return {
        row["hazard"]: _Rule(
            consequence=_consequence(row["consequence"], row["hazard"]),
            smallest_volume=row["smallest_volume"] == "yes",
            confirm=row["confirm"],
            caution=row["caution"],
            source=row["source"],
            known=parse_known(row["known"], where=f"stop_list.csv, {row['hazard']}"),
        )
        for row in rows
    }


def _consequence(text: str, hazard: str) -> Consequence:
    for consequence in _SEVERITY:
        if consequence == text:
            return consequence
    raise Damaged("stop-list", f"“{text}” is not a consequence.", where=f"stop_list.csv, {hazard}")


def hazard_words() -> tuple[str, ...]:
    """Return the hazards that the stop list knows, in the words to type."""
    return tuple(_rules())


def parse_hazard(text: str) -> str:
    """Return the stop list's word for a typed hazard ("peroxide former" → "peroxide-former").

    Raises InputError for a word that is not on it.
    """
    word = "-".join(text.lower().replace("-", " ").split())
    if word not in _rules():
        raise InputError(
            "hazard-unknown",
            f"“{text}” is not a hazard on the stop list.",
            where="hazard",
            fix=f"Use one of: {', '.join(_rules())}.",
        )
    return word


def stop_list(
    component_hazards: Mapping[str, Iterable[str]], sample_hazards: Iterable[str] = ()
) -> StopDecision:
    """Return what the hazards of the components and of the sample itself ask for.

    component_hazards: component name to its hazard words; sample_hazards: words typed for the
    sample. The strictest consequence governs. No hazard listed is not proof that there is none.
    Raises InputError for a word that the list does not know.
    """
    because: dict[str, list[str]] = {}
    for component, hazards in component_hazards.items():
        for hazard in hazards:
            because.setdefault(parse_hazard(hazard), []).append(component)
    for hazard in sample_hazards:
        because.setdefault(parse_hazard(hazard), []).append("the sample as declared")
    items = tuple(_item(hazard, reasons) for hazard, reasons in because.items())
    ordered = sorted(items, key=lambda item: -_SEVERITY.index(item.consequence))
    return StopDecision(
        items=tuple(ordered),
        consequence=ordered[0].consequence if ordered else "none",
        smallest_volume=any(item.smallest_volume for item in items),
    )


def volume_conflict(decision: StopDecision, method: Method, product: str | None = None) -> str:
    """Say why a method takes too large a specimen for the hazards; empty where it does not."""
    if not decision.smallest_volume:
        return ""
    kind = method.default_product if product is None else parse_product(product)
    volumes = [
        rule.volume.value for rule in method.specimens if not rule.products or kind in rule.products
    ]
    largest_ml = max(volumes, default=math.inf)
    if largest_ml <= _SMALLEST_SPECIMEN_ML:
        return ""
    hazards = ", ".join(item.hazard for item in decision.items if item.smallest_volume)
    return (
        f"{hazards}: only a small-scale method is allowed, and {method.designation} takes "
        f"{largest_ml:g} mL."
    )


def _item(hazard: str, reasons: list[str]) -> StopItem:
    rule = _rules()[hazard]
    return StopItem(
        hazard=hazard,
        because=tuple(dict.fromkeys(reasons)),
        consequence=rule.consequence,
        smallest_volume=rule.smallest_volume,
        confirm=rule.confirm,
        caution=rule.caution,
        source=rule.source,
        known=rule.known,
    )
