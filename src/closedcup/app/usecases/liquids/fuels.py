"""The flash point of a fuel from its distillation curve, and what a drop in it says."""

from collections.abc import Sequence
from decimal import Decimal, InvalidOperation
from typing import Any, Final

from closedcup.errors import InputError
from closedcup.mixtures.blending_index import contaminants, contamination
from closedcup.mixtures.fuels import CURVE_KINDS, CurveKind, fuel_flashes, span_c
from closedcup.mixtures.products import Product
from closedcup.mixtures.sweep import NOT_A_TEST
from closedcup.quantities import Temperature, parse_temperature

START_COLD: Final = (
    "Start the next specimen cold, as for an unknown composition, and expect an early flash."
)
NO_PERCENTAGE: Final = (
    "The ways disagree by an order of magnitude and one measured pair is all there is to judge "
    "them by: the range is no percentage."
)
NO_COVERAGE: Final = (
    "The span holds every way with its own error; how often it holds the flash point has not been "
    "measured."
)
TRACES: Final = (
    "A curve does not show traces of light ends: a little petrol lowers the flash point far more "
    "than it moves the 10 % point."
)


def fuel_answer(
    points: Sequence[str], *, kind: str, relative_density: float | None
) -> dict[str, Any]:
    """Return the object of `closedcup fuel`; points are such as "10=200 degC"."""
    curve = dict(_point(text) for text in points)
    if len(curve) < len(points):
        raise InputError(
            "curve-repeated",
            "One percentage of the curve was given twice.",
            where="distillation",
            fix="Give each percentage once.",
        )
    found = fuel_flashes(curve, kind=_kind(kind), relative_density=relative_density)
    middle_c, low_c, high_c = span_c(found)
    return {
        "flash_point_c": round(middle_c, 1),
        "low_c": round(low_c, 1),
        "high_c": round(high_c, 1),
        "coverage": None,
        "curve": [{"percent": percent, "at_c": at_c} for percent, at_c in sorted(curve.items())],
        "kind": kind,
        "relative_density": relative_density,
        "ways": [
            {
                "way": each.correlation.name,
                "flash_point_c": round(each.flash_c, 1),
                "half_width_c": each.correlation.half_width_c,
                "outside_range": each.outside,
                "range_c": [each.correlation.low_c, each.correlation.high_c],
                "note": each.correlation.note,
            }
            for each in found
        ],
        "sources": [
            {
                "value_of": each.correlation.name,
                "source": each.correlation.source,
                "known": each.correlation.known,
            }
            for each in found
        ],
        "warnings": _fuel_warnings(relative_density),
    }


def contamination_answer(
    *, clean: Temperature, found: Temperature, contaminant: str
) -> dict[str, Any]:
    """Return the object of `closedcup contamination`: contaminated or not, and what to do."""
    light = _contaminant(contaminant)
    answer = contamination(clean.c, found.c, light)
    span = answer.span
    return {
        "contaminant": light.name,
        "clean_c": clean.c,
        "found_c": found.c,
        "drop_c": round(answer.drop_c, 3),
        "contaminated": answer.significant,
        "volume_fraction_low": None if span is None else span[0],
        "volume_fraction_high": None if span is None else span[1],
        "what_to_do": START_COLD if answer.significant else "Repeat before anything is concluded.",
        "ways": [
            {"way": each.method, "low": each.low, "high": each.high} for each in answer.shares
        ],
        "sources": [
            {
                "value_of": f"flash point of {light.name}",
                "source": light.source,
                "known": light.known,
            },
            *(
                {"value_of": each.method, "source": each.source, "known": each.known}
                for each in answer.shares
            ),
        ],
        "warnings": [
            NOT_A_TEST,
            NO_PERCENTAGE,
        ],
    }


def _point(text: str) -> tuple[float, float]:
    share, equals, temperature = text.partition("=")
    try:
        percent = Decimal(share.strip().removesuffix("%").strip())
    except InvalidOperation:
        percent = Decimal("NaN")
    if not equals or not percent.is_finite():
        raise InputError(
            "curve-point",
            f"“{text}” is not a point of a distillation curve.",
            where="distillation",
            fix="Write percent and temperature: “10=200 degC”.",
        )
    return float(percent), parse_temperature(temperature, where=f"distillation {share}").c


def _kind(typed: str) -> CurveKind:
    for kind in CURVE_KINDS:
        if typed == kind:
            return kind
    raise InputError(
        "curve-kind-unknown",
        f"“{typed}” is not a kind of distillation curve.",
        where="kind",
        fix=f"Use one of: {', '.join(CURVE_KINDS)}.",
    )


def _contaminant(name: str) -> Product:
    found = contaminants().get(name)
    if found is None:
        raise InputError(
            "contaminant-unknown",
            f"“{name}” is not a contaminant on file.",
            where="contaminant",
            fix=f"Use one of: {', '.join(contaminants())}.",
        )
    return found


def _fuel_warnings(relative_density: float | None) -> list[str]:
    found = [
        NOT_A_TEST,
        NO_COVERAGE,
        TRACES,
    ]
    if relative_density is None:
        found.append("No relative density was given: that of an ordinary stock is assumed.")
    return found
