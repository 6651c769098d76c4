"""A method's repeatability r and reproducibility R, inside their stated range only."""

from dataclasses import dataclass

from closedcup.errors import Refused
from closedcup.methods.published_method import Method, PrecisionRule, PrecisionTerm, parse_product


@dataclass(frozen=True, slots=True)
class Precision:
    """r and R at one temperature, with the equations they come from.

    reproducibility_c is None where the method states none.
    """

    method_id: str
    product: str
    at_corrected_c: float
    repeatability_c: float
    reproducibility_c: float | None
    rule: PrecisionRule

    def sources(self) -> list[dict[str, str]]:
        """Return the entries of a `sources` list."""
        return [
            {
                "value_of": f"{name} = {term.formula}",
                "source": f"{term.source}, {term.clause}" if term.clause else term.source,
                "known": term.known,
            }
            for name, term in (
                ("repeatability", self.rule.repeatability),
                ("reproducibility", self.rule.reproducibility),
            )
            if term is not None
        ]


def precision_at(method: Method, at_corrected_c: float, product: str | None = None) -> Precision:
    """Return r and R of a method for a product at a corrected temperature.

    X in the equations is the mean of the results compared. Where two ranges meet (70 °C in the
    small-scale equilibrium methods, where r and R jump) the meeting point belongs to the lower
    one. Raises Refused for a product or temperature for which the method states no precision.
    """
    kind = method.default_product if product is None else parse_product(product)
    if method.test == "flash/no-flash":
        raise Refused(
            "precision-not-stated",
            f"{method.name} answers flash or no flash; r and R are stated for finite results.",
            where=method.id,
            fix="Ask for the finite procedure of the same method.",
        )
    rules = [rule for rule in method.precision if kind in rule.products]
    if not rules:
        stated = sorted({name for rule in method.precision for name in rule.products})
        raise Refused(
            "precision-not-stated",
            f"The data of {method.designation} holds no precision for {kind}.",
            where=method.id,
            fix=f"It holds precision for: {', '.join(stated)}." if stated else "",
        )
    for rule in rules:
        above = rule.low_c is None or at_corrected_c >= rule.low_c
        below = rule.high_c is None or at_corrected_c <= rule.high_c
        if above and below:
            return Precision(
                method_id=method.id,
                product=kind,
                at_corrected_c=at_corrected_c,
                repeatability_c=_at(rule.repeatability, at_corrected_c),
                reproducibility_c=None
                if rule.reproducibility is None
                else _at(rule.reproducibility, at_corrected_c),
                rule=rule,
            )
    spans = ", ".join(_span(rule) for rule in rules)
    raise Refused(
        "outside-precision-range",
        f"{method.designation} states precision for {kind} only for {spans}; "
        f"{at_corrected_c:g} °C is outside.",
        where=method.id,
        fix="Do not extrapolate; choose a method whose precision covers the temperature.",
    )


def repeatability_c(method: Method, at_corrected_c: float, product: str | None = None) -> float:
    """Return r (same laboratory, same operator and apparatus, 95 %) in °C."""
    return precision_at(method, at_corrected_c, product).repeatability_c


def reproducibility_c(method: Method, at_corrected_c: float, product: str | None = None) -> float:
    """Return R (different laboratories, 95 %) in °C; Refused where none is stated."""
    found = precision_at(method, at_corrected_c, product).reproducibility_c
    if found is None:
        raise Refused(
            "precision-not-stated",
            f"{method.designation} states no reproducibility for this product.",
            where=method.id,
            fix="Two laboratories cannot be compared by this method's precision.",
        )
    return found


def _at(term: PrecisionTerm, x: float) -> float:
    return float(term.factor * (x + term.offset) ** term.exponent)


def _span(rule: PrecisionRule) -> str:
    low = "" if rule.low_c is None else f"{rule.low_c:g}"
    high = "" if rule.high_c is None else f"{rule.high_c:g}"
    if low and high:
        return f"{low} to {high} °C"
    return f"up to {high} °C" if high else f"from {low} °C"
