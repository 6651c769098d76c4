"""What rules a method out for a sample, and what speaks against one that fits."""

from collections.abc import Callable
from typing import Final

from closedcup.errors import ClosedcupError
from closedcup.methods.need import Need
from closedcup.methods.precision import precision_at
from closedcup.methods.published_method import Method

# Products of the procedures of ASTM D93 and ISO 2719, by letter (precision clauses, memory; that
# C is for biodiesel is read).
_LARGE_CUP: Final[dict[str, frozenset[str]]] = {
    "A": frozenset({"petroleum", "solvent", "paint", "waste"}),
    "B": frozenset({"residual fuel", "film-forming", "used oil", "viscous paint", "waste"}),
    "C": frozenset({"fame"}),
}
_SMALL_ML: Final = 2.0  # ADR 2.3.3.1.3 wants about 2 mL for such samples (memory)
_SLOW_MM2_S: Final = 15_000.0  # 150 St: 16 CFR 1500.43a has a procedure of its own above (read)
_PAINT_PRECISION_MM2_S: Final = 150.0  # at 25 °C: precision of ISO 3679 for paints (read)
_PRECISION_MISSING: Final = 4
_DYNAMIC_FOR_A_LIMIT: Final = 3
_MAY_MISS: Final = 3
_LARGE_SPECIMEN: Final = 1


# --- what rules a method out ---------------------------------------------------------------------


def _open_cup(method: Method, _: Need) -> str:
    return "" if method.is_closed_cup else "An open cup answers no closed-cup question."


def _not_on_file(method: Method, _: Need) -> str:
    if method.guided or not method.is_closed_cup:
        return ""
    return "Its text was not seen: there are no numbers on file to run it by."


def _not_named(method: Method, need: Need) -> str:
    if need.named is None or method.id in need.named:
        return ""
    return f"{need.named_by} does not name it."


def _out_of_scope(method: Method, need: Need) -> str:
    expected_c = need.expected_corrected_c
    if expected_c is None:
        return ""
    if method.low_c is not None and expected_c < method.low_c:
        return f"Its scope begins at {method.low_c:g} °C; {expected_c:g} °C is expected."
    if method.high_c is not None and expected_c > method.high_c:
        return f"Its scope ends at {method.high_c:g} °C; {expected_c:g} °C is expected."
    return ""


def _gives_no_value(method: Method, need: Need) -> str:
    if need.at_limit or method.test == "finite":
        return ""
    return "It says flash or no flash at a limit and gives no value."


def _too_viscous(method: Method, need: Need) -> str:
    if "viscosity_limit" not in method.numbers:
        return ""
    if need.forms_film:
        return "It is not for liquids that form a film or hold solids."
    number = method.number
    limits = [
        (number(f"{name}_at").value, number(name).value)
        for name in ("viscosity_limit_cold", "viscosity_limit")
        if name in method.numbers
    ]
    value, at_c = need.viscosity_mm2_s, need.viscosity_at_c
    if value is None or at_c is None:
        return ""
    asked = " or ".join(f"{limit:g} mm2/s at {limit_at:g} °C" for limit_at, limit in limits)
    # a liquid grows thinner when it is warmed, so that a value elsewhere decides one way only
    if any(at_c >= limit_at and value >= limit for limit_at, limit in limits):
        return f"It is for viscosities below {asked}; the sample has {value:g} at {at_c:g} °C."
    if any(at_c <= limit_at and value < limit for limit_at, limit in limits):
        return ""
    return f"It is for viscosities below {asked}, which {value:g} at {at_c:g} °C does not show."


def _wrong_product(method: Method, need: Need) -> str:
    letter = method.procedure_letter
    if method.procedure == "stirred ramp" and letter in _LARGE_CUP:
        if need.forms_film and letter == "A":
            return "Procedure A is for homogeneous liquids; take procedure B."
        suits = _LARGE_CUP[letter]
        if need.product not in suits and not (letter == "B" and need.forms_film):
            return f"Procedure {letter} is for: {', '.join(sorted(suits))}."
    water = "water-borne" in need.traits
    if water and any("water-borne" in statement.text for statement in method.not_for):
        return "It is not for water-borne paints."
    if water and method.procedure == "bath":
        return "The ISO methods of the same kind are not for water-borne paints."
    return ""


def _misses_traces(method: Method, need: Need) -> str:
    if "volatile contaminant" not in need.traits:
        return ""
    excluded = any("volatile contaminant" in statement.text for statement in method.not_for)
    return "It is not for samples with traces of something very volatile." if excluded else ""


def _too_much(method: Method, need: Need) -> str:
    largest_ml = specimen_ml(method, need)
    if largest_ml is None:
        return ""
    if "hazardous" in need.traits and largest_ml > _SMALL_ML:
        return f"It takes {largest_ml:g} mL; such a sample is tested with about {_SMALL_ML:g} mL."
    least = method.numbers.get("least_sample")
    least_ml = max(largest_ml, 0.0 if least is None else least.value)
    if need.available_ml is not None and need.available_ml < least_ml:
        return f"It asks for at least {least_ml:g} mL of sample; there are {need.available_ml:g}."
    return ""


RULES: Final[tuple[Callable[[Method, Need], str], ...]] = (
    _open_cup,
    _not_on_file,
    _not_named,
    _out_of_scope,
    _gives_no_value,
    _too_viscous,
    _wrong_product,
    _misses_traces,
    _too_much,
)

# --- what speaks for and against those that fit --------------------------------------------------


def drawbacks(method: Method, need: Need) -> list[tuple[int, str]]:
    """Return what speaks against a method that fits, each with its weight."""
    found: list[tuple[int, str]] = []
    if need.purpose in ("transport", "waste") and not method.is_equilibrium:
        text = "Near a limit a dynamic result has to be confirmed at equilibrium."
        found.append((_DYNAMIC_FOR_A_LIMIT, text))
    if method.test == "finite" and reproducibility_c(method, need) is None:
        text = f"No precision is on file for {need.product}" + (
            "." if need.expected_corrected_c is None else f" at {need.expected_corrected_c:g} °C."
        )
        found.append((_PRECISION_MISSING, text))
    if "volatile contaminant" in need.traits and not method.is_equilibrium:
        found.append((_MAY_MISS, "A ramp can miss traces of something very volatile."))
    if need.expected_corrected_c is None and (method.low_c is None or method.low_c > 0):
        text = "Nothing is expected, and its scope does not reach down into the cold."
        found.append((_MAY_MISS, text))
    if (specimen_ml(method, need) or 0.0) > 2 * _SMALL_ML:
        weight = _LARGE_SPECIMEN + (need.purpose == "screening")
        found.append((weight, f"It takes {specimen_ml(method, need):g} mL for each run."))
    if need.at_limit and method.test == "finite":
        found.append((2, "It searches for a value where one temperature would answer."))
    if need.purpose == "screening" and method.procedure == "equilibrium" and not need.at_limit:
        found.append((1, "It takes a fresh specimen for each temperature."))
    if method.automatic_only:
        found.append((1, "It needs an automatic apparatus."))
    return found


def mind(method: Method, need: Need) -> tuple[str, ...]:
    """Return what to mind with a method that fits."""
    found: list[str] = []
    if "halogenated" in need.traits:
        found.append("A halogenated component can mask the flash: no flash is not proof of none.")
    if need.product == "fame" and not method.called_by_detector("fame"):
        found.append("Biodiesel is called by an electronic detector.")
    if "volatile contaminant" in need.traits and "window_low" in method.numbers:
        found.append("Start low; the window of the first application may be ignored.")
    value = need.viscosity_mm2_s
    if value is not None and value > _SLOW_MM2_S and method.procedure == "equilibrium":
        found.append("Above 150 St the specimen needs a longer dwell of its own.")
    elif (
        value is not None
        and value >= _PAINT_PRECISION_MM2_S
        and need.product == "paint"
        and method.designation == "ISO 3679"
    ):
        found.append("Its precision for paints holds below 150 mm2/s at 25 °C.")
    proven = method.numbers.get("precision_proven_to")
    if proven is not None and (need.expected_corrected_c or 0.0) > proven.value:
        found.append(f"Its precision is not established above {proven.value:g} °C.")
    if "viscosity_limit" in method.numbers and need.viscosity_mm2_s is None:
        limit, at = (
            method.number("viscosity_limit").value,
            method.number("viscosity_limit_at").value,
        )
        found.append(f"Only if the viscosity is below {limit:g} mm2/s at {at:g} °C.")
    return tuple(found)


def reproducibility_c(method: Method, need: Need) -> float | None:
    """Return R at the flash point expected; 0 where it is on file but nothing is expected."""
    if need.expected_corrected_c is None or method.test != "finite":
        rules = [rule for rule in method.precision if need.product in rule.products]
        return None if not rules or rules[0].reproducibility is None else 0.0
    try:
        return precision_at(method, need.expected_corrected_c, need.product).reproducibility_c
    except ClosedcupError:
        return None


def specimen_ml(method: Method, need: Need) -> float | None:
    """Return the largest specimen on the way to the flash point expected."""
    rules = [one for one in method.specimens if not one.products or need.product in one.products]
    if not rules:
        return None
    if need.expected_corrected_c is None:
        return max(rule.volume.value for rule in rules)
    return method.specimen_rule(need.product, need.expected_corrected_c).volume.value
