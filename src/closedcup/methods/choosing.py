"""Which method suits a sample: one is recommended, and each other one says why not."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from closedcup.methods.need import Need
from closedcup.methods.published_method import PRODUCTS, Method
from closedcup.methods.suitability import RULES, drawbacks, mind, reproducibility_c, specimen_ml


@dataclass(frozen=True, slots=True)
class Choice:
    """A method and why it is recommended, comes later, or is ruled out; what to mind with it."""

    method: Method
    state: Literal["recommended", "fits", "ruled out"]
    why: tuple[str, ...]
    mind: tuple[str, ...] = ()


def choose(candidates: Iterable[Method], need: Need) -> tuple[Choice, ...]:
    """Return every method, the recommended one first, then those that fit, then the others.

    What rules a method out comes from its scope; among those that fit, the fewest drawbacks win,
    then the smaller reproducibility, then the smaller specimen.
    """
    out: list[Choice] = []
    fit: list[tuple[tuple[float, ...], str, Method, tuple[str, ...]]] = []
    for method in candidates:
        against = tuple(said for rule in RULES if (said := rule(method, need)))
        if against:
            out.append(Choice(method, "ruled out", against))
            continue
        against_it = drawbacks(method, need)
        rank = (
            float(sum(weight for weight, _ in against_it)),
            reproducibility_c(method, need) or 99.0,
            specimen_ml(method, need) or 99.0,
        )
        fit.append((rank, method.id, method, tuple(text for _, text in against_it)))
    fit.sort(key=lambda one: one[:2])
    return (*_in_order(fit, need), *out)


def _in_order(
    fit: list[tuple[tuple[float, ...], str, Method, tuple[str, ...]]], need: Need
) -> list[Choice]:
    choices: list[Choice] = []
    for place, (rank, _, method, said) in enumerate(fit):
        to_mind = mind(method, need)
        if place == 0:
            choices.append(
                Choice(method, "recommended", (_because(method, need),), (*said, *to_mind))
            )
            continue
        best_rank, _, best, best_said = fit[0]
        why = tuple(text for text in said if text not in best_said)
        if not why and rank[1] > best_rank[1]:
            why = (f"Its reproducibility there is larger than that of {best.id}.",)
        elif not why and rank[2] > best_rank[2]:
            why = (f"It takes more than {best.id}.",)
        choices.append(Choice(method, "fits", why or (f"As good as {best.id}.",), to_mind))
    return choices


def _because(method: Method, need: Need) -> str:
    if need.named is not None:
        lead = f"Named by {need.named_by}"
    else:
        lead = f"Suits {PRODUCTS[need.product].split(',')[0]}"
    kind = "an equilibrium method" if method.is_equilibrium else "a ramp"
    largest_ml = specimen_ml(method, need)
    size = "" if largest_ml is None else f" with {largest_ml:g} mL"
    spread_c = reproducibility_c(method, need)
    spread = f", R = {spread_c:.1f} °C there" if spread_c else ""
    return f"{lead}: {kind}{size}{spread}."
