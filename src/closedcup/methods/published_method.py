"""A published test method as a value: its numbers, each with its source."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from closedcup.errors import InputError, Refused
from closedcup.methods.numbers import MEANINGS
from closedcup.sources import Cited, Known

# Kinds of product that methods tell apart, in the words a user types.
PRODUCTS: Final[dict[str, str]] = {
    "petroleum": "distillate fuels, solvents of petroleum, unused lubricating oils and the like",
    "solvent": "chemicals and solvents, homogeneous and of low viscosity",
    "paint": "paints, varnishes and related products of low viscosity",
    "viscous paint": "paints and related products, viscous or with dispersed solids",
    "fame": "fatty acid methyl esters (biodiesel)",
    "residual fuel": "residual fuel oils and cutback bitumens",
    "film-forming": "liquids that form a film or hold suspended solids",
    "used oil": "used lubricating oils",
    "waste": "liquid waste and samples of unknown composition",
}

# The procedures that the bench guide runs, in words.
PROCEDURES: Final[dict[str, str]] = {
    "equilibrium": "small-scale equilibrium: a fresh specimen for each temperature",
    "ramp": "small-scale ramp: one specimen heated at a fixed rate",
    "stirred ramp": "large cup on a ramp, stirred or not as the method says",
    "bath": "equilibrium in a bath: the specimen follows the bath slowly",
    "continuously closed": "closed cup with an arc inside; the flash is a rise of pressure",
}


def parse_product(text: str) -> str:
    """Return the product kind, or raise InputError with the list of kinds."""
    product = " ".join(text.lower().split())
    if product not in PRODUCTS:
        raise InputError(
            "product-unknown",
            f"“{text}” is not a kind of product that test methods tell apart.",
            where="product",
            fix=f"Choose one of: {', '.join(PRODUCTS)}.",
        )
    return product


@dataclass(frozen=True, slots=True)
class Statement:
    """A sentence of a method in our words, with its source."""

    text: str
    source: str
    known: Known


@dataclass(frozen=True, slots=True)
class SpecimenRule:
    """Volume and dwell up to a cup temperature; `products` empty means any product.

    fill: where the cup is filled to a mark instead of by volume, in words; the volume is then
    only about what that takes.
    """

    products: frozenset[str]
    up_to_cup: Cited | None
    volume: Cited
    volume_tolerance: Cited | None
    dwell: Cited | None
    fill: str = ""

    def covers(self, product: str, cup_c: float) -> bool:
        """Say whether the rule is the one for a product at a cup temperature."""
        fits = not self.products or product in self.products
        return fits and (self.up_to_cup is None or cup_c <= self.up_to_cup.value)


@dataclass(frozen=True, slots=True)
class IntervalRule:
    """How often the igniter is applied, and how fast the cup is heated where that differs.

    up_to_cup: below a cup temperature. up_to_expected, below_expected: for an expected flash
    point (corrected) up to, or below, a temperature; an unknown one takes the first rule.
    """

    up_to_cup: Cited | None
    interval: Cited
    up_to_expected: Cited | None = None
    below_expected: Cited | None = None
    rate: Cited | None = None

    def covers(self, cup_c: float, expected_corrected_c: float | None) -> bool:
        """Say whether the rule is the one at a cup temperature for an expected flash point."""
        if self.up_to_cup is not None and cup_c >= self.up_to_cup.value:
            return False
        if expected_corrected_c is None:
            return True
        up_to, below = self.up_to_expected, self.below_expected
        return (up_to is None or expected_corrected_c <= up_to.value) and (
            below is None or expected_corrected_c < below.value
        )


@dataclass(frozen=True, slots=True)
class PrecisionTerm:
    """One of r and R: factor · (X + offset)^exponent, X in °C; a constant has exponent 0."""

    factor: float
    offset: float
    exponent: float
    source: str
    known: Known
    clause: str = ""

    @property
    def formula(self) -> str:
        """The equation in words."""
        if self.exponent == 0:
            return f"{self.factor:g}"
        base = f"(X + {self.offset:g})" if self.offset else "X"
        return f"{self.factor:g} {base}" + (f"^{self.exponent:g}" if self.exponent != 1 else "")


@dataclass(frozen=True, slots=True)
class PrecisionRule:
    """r and R of a method for some products inside a range of the corrected flash point."""

    products: frozenset[str]
    low: Cited | None
    high: Cited | None
    repeatability: PrecisionTerm
    reproducibility: PrecisionTerm | None
    note: str

    @property
    def low_c(self) -> float | None:
        """The low end of the range; None where it is not stated."""
        return None if self.low is None else self.low.value

    @property
    def high_c(self) -> float | None:
        """The high end of the range; None where it is not stated."""
        return None if self.high is None else self.high.value


@dataclass(frozen=True, slots=True)
class Edition:
    """An edition and what changed in it."""

    name: str
    changed: str
    source: str
    known: Known


@dataclass(frozen=True, slots=True)
class Method:
    """The numbers of one procedure of one published method.

    procedure: the guided procedure that runs it (PROCEDURES); "" where the bench guide does not.
    automatic_only: the igniter is applied by the apparatus, never by hand. confirmed: whether a
    laboratory has checked the numbers against its own copy; as shipped, never.
    """

    id: str
    name: str
    designation: str
    procedure_letter: str
    procedure: str
    test: str
    kind: str
    is_equilibrium: bool
    is_closed_cup: bool
    automatic_only: bool
    confirmed: bool
    equivalents: tuple[str, ...]
    default_product: str
    flash_called_by: str
    detector_products: frozenset[str]
    rounds_to_step_used: bool
    numbers: Mapping[str, Cited]
    specimens: tuple[SpecimenRule, ...]
    intervals: tuple[IntervalRule, ...]
    precision: tuple[PrecisionRule, ...]
    clauses: Mapping[str, Statement]
    not_for: tuple[Statement, ...]
    report: tuple[str, ...]
    editions: tuple[Edition, ...]

    @property
    def guided(self) -> bool:
        """Whether the bench guide runs this method."""
        return bool(self.procedure)

    @property
    def low_c(self) -> float | None:
        """The lowest flash point in the scope (corrected)."""
        return self._value("range_low")

    @property
    def high_c(self) -> float | None:
        """The highest flash point in the scope (corrected)."""
        return self._value("range_high")

    def _value(self, name: str) -> float | None:
        cited = self.numbers.get(name)
        return None if cited is None else cited.value

    def number(self, name: str) -> Cited:
        """Return a cited number; Refused when the method's data does not hold it."""
        if name not in self.numbers:
            raise Refused(
                "number-not-known",
                f"The data of {self.designation} holds no “{MEANINGS[name].words}”.",
                where=self.id,
                fix="Read it in the laboratory's copy of the method.",
            )
        return self.numbers[name]

    def clause(self, step: str) -> str:
        """Return where the method says a step, in words; the step itself if nothing is stored."""
        statement = self.clauses.get(step)
        return self.designation if statement is None else statement.text

    def specimen_rule(self, product: str, cup_c: float) -> SpecimenRule:
        """Return volume and dwell for a product at a cup temperature (the scale of the cup).

        Raises Refused where the method states none.
        """
        for rule in self.specimens:
            if rule.covers(product, cup_c):
                return rule
        raise Refused(
            "specimen-rule-missing",
            f"{self.designation} states no specimen for {product} at {cup_c:g} °C.",
            where=self.id,
            fix="Choose a method whose scope covers it.",
        )

    def interval_rule(
        self, cup_c: float, expected_corrected_c: float | None = None
    ) -> IntervalRule:
        """Return the interval between applications, by cup and expected flash point.

        Raises Refused where the method states none.
        """
        for rule in self.intervals:
            if rule.covers(cup_c, expected_corrected_c):
                return rule
        raise Refused(
            "interval-missing",
            f"{self.designation} states no interval at {cup_c:g} °C.",
            where=self.id,
        )

    def rounding_step_c(self, step_c: float) -> float:
        """Return the rounding of the reported value, given the last step of the search."""
        return step_c if self.rounds_to_step_used else self.number("rounding").value

    def called_by_detector(self, product: str) -> bool:
        """Say whether the detector decides what a flash is (else the eye)."""
        return self.flash_called_by == "detector" or product in self.detector_products

    def sources(self) -> list[dict[str, str]]:
        """Return the entries of a `sources` list for every number of the method."""
        entries = [
            cited.as_json(MEANINGS[name].words) for name, cited in sorted(self.numbers.items())
        ]
        for rule in self.specimens:
            entries.append(rule.volume.as_json("specimen volume"))
            if rule.dwell is not None:
                entries.append(rule.dwell.as_json("dwell"))
        for interval in self.intervals:
            entries.append(interval.interval.as_json("interval"))
            if interval.rate is not None:
                entries.append(interval.rate.as_json("heating rate"))
        for precision in self.precision:
            for words, term in (
                ("repeatability", precision.repeatability),
                ("reproducibility", precision.reproducibility),
            ):
                if term is not None:
                    entries.append({"value_of": words, "source": term.source, "known": term.known})
        return entries
