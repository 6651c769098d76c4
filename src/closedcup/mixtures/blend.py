"""A blend: which liquids, and how much of each, in mole fractions."""

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final, Literal

from closedcup.errors import InputError, Refused
from closedcup.mixtures.liquids import Liquid
from closedcup.mixtures.names import find
from closedcup.mixtures.products import (
    RESIN_DENSITY_KG_M3,
    RESIN_MOLAR_MASS_G_MOL,
    is_resin,
    stated_molar_mass,
)
from closedcup.quantities import Amount, parse_amount

Basis = Literal["mole", "mass", "volume"]
BASES: Final[tuple[Basis, ...]] = ("mole", "mass", "volume")

# Typed fractions are exact decimals; a larger gap is a missing component or a slip.
SUM_TOLERANCE: Final = 1e-6


@dataclass(frozen=True, slots=True)
class Involatile:
    """A resin: what it is taken for, and how much of it there is.

    `fraction` is its declared share of the whole on the blend's basis, `mass_g` its mass for one
    mole of the liquids. `is_assumed` where its molar mass was not given.
    """

    fraction: float
    molar_mass_g_mol: float
    density_kg_m3: float
    is_assumed: bool
    mass_g: float


@dataclass(frozen=True, slots=True)
class Blend:
    """Liquids and their mole fractions, which sum to one; with the amounts as declared.

    A resin gives off nothing and is no liquid: it is kept apart.
    """

    liquids: tuple[Liquid, ...]
    mole_fractions: tuple[float, ...]
    basis: Basis
    declared: tuple[float, ...]
    involatile: Involatile | None = None

    @property
    def is_pure(self) -> bool:
        """Whether there is one liquid only; a resin in it is none."""
        return len(self.liquids) == 1


def blend(
    amounts: Iterable[str | Amount | tuple[str, float]],
    *,
    basis: Basis = "mole",
    normalise: bool = False,
    own: Mapping[str, Liquid] | None = None,
) -> Blend:
    """Make a blend from amounts such as "ethanol=0.3", "64-17-5=30 %" or ("ethanol", 0.3).

    “resin”, or “resin 2000 g/mol”, is a part that gives off nothing. Volume fractions are those of
    the liquids before mixing, at 20 °C. `own` holds the laboratory's own liquids and values, which
    win (see `own_liquids`). Raises InputError for an unknown or repeated liquid, a negative
    amount, or a sum other than one (unless `normalise`), and Refused where a volume cannot be
    turned into moles because no density is known, or where there is nothing but resin.
    """
    as_basis(basis)
    declared = [_name_and_fraction(entry) for entry in amounts]
    _check_fractions(declared)
    total = math.fsum(fraction for _, fraction in declared)
    if not normalise and abs(total - 1) > SUM_TOLERANCE:
        raise _wrong_sum(total, basis)
    resins = [(name, f / total) for name, f in declared if is_resin(name) and f > 0]
    pairs = [(name, f / total) for name, f in declared if not is_resin(name)]
    liquids = [find(name, where=f"component {name}", own=own) for name, _ in pairs]
    _check_repeats(liquids)
    kept = [(liquid, f) for liquid, (_, f) in zip(liquids, pairs, strict=True) if f > 0]
    if not kept:
        raise _resin_alone()
    moles = [fraction * moles_per_amount(liquid, basis) for liquid, fraction in kept]
    return Blend(
        liquids=tuple(liquid for liquid, _ in kept),
        mole_fractions=tuple(amount / math.fsum(moles) for amount in moles),
        basis=basis,
        declared=tuple(fraction for _, fraction in kept),
        involatile=_resin(resins, [liquid for liquid, _ in kept], basis, math.fsum(moles)),
    )


def as_basis(text: str) -> Basis:
    """Read the basis of a composition; InputError for a word that is none."""
    for basis in BASES:
        if basis == text:
            return basis
    raise InputError(
        "basis-unknown",
        f"“{text}” is not a basis of composition.",
        where="basis",
        fix=f"Use one of: {', '.join(BASES)}.",
    )


def _resin(
    resins: Sequence[tuple[str, float]], liquids: Sequence[Liquid], basis: Basis, moles: float
) -> Involatile | None:
    """Return the resin of a blend; `moles` are those of the liquids, on the basis declared."""
    if not resins:
        return None
    if len(resins) > 1:
        raise InputError(
            "component-repeated",
            "More than one resin was given.",
            where="composition",
            fix="Give all that is not volatile as one resin.",
        )
    (name, fraction), density = resins[0], RESIN_DENSITY_KG_M3
    for liquid in liquids:
        moles_per_amount(liquid, "volume")  # refuses, by name, a liquid without a density
    stated = stated_molar_mass(name)
    if basis == "mole" and stated is None:
        raise InputError(
            "resin-by-mole",
            "A resin by mole needs its molar mass.",
            where=f"component {name}",
            fix="Give the composition by mass, or “resin 2000 g/mol=0.01”.",
        )
    molar_mass = RESIN_MOLAR_MASS_G_MOL if stated is None else stated
    mass = {"mass": fraction, "volume": fraction * density, "mole": fraction * molar_mass}[basis]
    return Involatile(fraction, molar_mass, density, stated is None, mass / moles)


def _resin_alone() -> Refused:
    return Refused(
        "no-flash",
        "No flash point can be calculated for a resin alone: it gives off no vapour.",
        where="composition",
        fix="Name the solvents that are left in it, or test it.",
    )


def _name_and_fraction(entry: str | Amount | tuple[str, float]) -> tuple[str, float]:
    if isinstance(entry, str):
        entry = parse_amount(entry)
    if isinstance(entry, Amount):
        return entry.name, float(entry.fraction)
    name, fraction = entry
    return name, float(fraction)


def _check_fractions(pairs: Sequence[tuple[str, float]]) -> None:
    for name, fraction in pairs:
        if not math.isfinite(fraction) or fraction < 0:
            raise InputError(
                "negative-fraction" if fraction < 0 else "not-a-fraction",
                f"An amount of {fraction:g} is not possible.",
                where=f"component {name}",
                fix="Every component's share must be zero or more.",
            )
    if not any(fraction > 0 for _, fraction in pairs):
        raise InputError(
            "composition-empty",
            "No component with an amount above zero was given.",
            where="composition",
            fix="Name at least one component, for example “ethanol=1”.",
        )


def _check_repeats(liquids: Sequence[Liquid]) -> None:
    seen: set[str] = set()
    for liquid in liquids:
        if liquid.cas in seen:
            raise InputError(
                "component-repeated",
                f"{liquid.name} ({liquid.cas}) was given twice.",
                where="composition",
                fix="Give each liquid once, with its whole amount.",
            )
        seen.add(liquid.cas)


def _wrong_sum(total: float, basis: str) -> InputError:
    percent = "Write percentages with their sign (“30 %”), " if total > 1.5 else ""
    return InputError(
        "fractions-sum",
        f"The {basis} fractions sum to {total:.6g}, not 1.",
        where="composition",
        fix=f"{percent}{'c' if percent else 'C'}orrect them: each divided by {total:.6g}, they "
        "would sum to 1.",
    )


def moles_per_amount(liquid: Liquid, basis: Basis) -> float:
    """Return moles per unit of declared amount, up to one factor common to all liquids.

    Raises Refused for shares by volume of a liquid without a known density.
    """
    if basis == "mole":
        return 1.0
    if basis == "mass":
        return 1.0 / liquid.molar_mass_g_mol
    density = liquid.properties.get("density_20c_kg_m3")
    if density is None:
        raise Refused(
            "density-missing",
            f"No density at 20 °C is known for {liquid.name}, so its volume says nothing of moles.",
            where=f"component {liquid.name}",
            fix="Give the composition by mass or by mole.",
        )
    return density.value / liquid.molar_mass_g_mol
