"""Put a history on a control chart and say what it signals."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Final

from closedcup.app.usecases.charts.chart_findings import autocorrelation, normality, precision
from closedcup.app.usecases.charts.control_history import History
from closedcup.errors import InputError
from closedcup.metrology import (
    LEAST_POINTS,
    RULES,
    USUAL_BASE,
    ZONE_RULES,
    Chart,
    Limits,
    Series,
    chart_cusum,
    chart_ewma,
    chart_individuals,
    chart_subgroups,
    limits_around,
    series_of,
)

Answer = dict[str, Any]

USUAL_WEIGHT: Final = 0.4
"""Of a new result in the moving average: petroleum practice (memory)."""


@dataclass(frozen=True, slots=True)
class Wishes:
    """How to chart: kind, rules by number, and what replaces the base period's own figures."""

    kind: str = "individuals"
    rules: tuple[str, ...] = ZONE_RULES
    base: int | None = None
    centre: float | None = None
    sigma: float | None = None
    start: float | None = None
    weight: float = USUAL_WEIGHT
    allowance: float | None = None
    interval: float | None = None

    def decided(self, history: History) -> Limits | None:
        """Return limits as given or as decided on record, None where a base period gives them.

        A base that is asked for puts those on record aside.
        """
        if self.sigma is None and self.centre is None:
            return history.decided if self.base is None else None
        if self.sigma is None or self.centre is None:
            raise InputError(
                "limits-incomplete",
                "Limits that were decided on need the centre and the standard deviation.",
                where="centre" if self.centre is None else "sigma",
                fix="Give both, or neither: then the base period gives them.",
            )
        return limits_around(self.centre, self.sigma, "as given")


def typed_rules(text: str | None) -> tuple[str, ...]:
    """Read "WE1,WE4,N3" or "none"; the zone rules unless given."""
    if text is None:
        return ZONE_RULES
    if text.strip().lower() == "none":
        return ()
    return tuple(part.strip().upper() for part in text.split(",") if part.strip())


def typed_base(text: str) -> int:
    """Read how many of the first results give the limits: 5 at least."""
    if not text.isdecimal() or int(text) < LEAST_POINTS:
        raise InputError(
            "base-unusable",
            f"A base period of “{text}” results is none.",
            where="base",
            fix=f"Give how many of the first results, {LEAST_POINTS} at least.",
        )
    return int(text)


def typed_weight(text: str) -> float:
    """Read the weight of a new result in the moving average: above 0, 1 at most."""
    try:
        weight = float(text.replace(",", "."))
    except ValueError:
        weight = 0.0
    if not 0 < weight <= 1:
        raise InputError(
            "weight-unusable",
            f"“{text}” is no weight of a moving average.",
            where="weight",
            fix="Give a number above 0, 1 at most.",
        )
    return weight


def charted(history: History, wishes: Wishes) -> Answer:
    """Return the object that `closedcup chart` prints.

    Raises InputError for an unknown kind or rule, Refused for too few results or none that
    differ.
    """
    if wishes.kind not in _MAKERS:
        raise InputError(
            "chart-unknown",
            f"There is no chart “{wishes.kind}”.",
            where="kind",
            fix=f"One of: {', '.join(_MAKERS)}.",
        )
    _check_rules(wishes.rules)
    chart, series = _MAKERS[wishes.kind](history, wishes)
    if series is not None:
        return _answer(history, wishes, chart, series, history.labels, history.causes)
    groups = tuple(_groups(history))
    causes = history.causes if history.singles else ("",) * len(groups)
    return _answer(history, wishes, chart, None, groups, causes)


def _check_rules(rules: tuple[str, ...]) -> None:
    unknown = [number for number in rules if number not in RULES]
    if unknown:
        raise InputError(
            "rule-unknown",
            f"There is no run rule “{unknown[0]}”.",
            where="rules",
            fix=f"Rules: {', '.join(RULES)}; or none.",
        )


def _series(history: History, wishes: Wishes) -> Series:
    return series_of(
        history.values,
        resolution=history.resolutions,
        explained=[bool(cause) for cause in history.causes],
        base=wishes.base,
    )


def _individuals(history: History, wishes: Wishes) -> tuple[Chart, Series]:
    series = _series(history, wishes)
    return chart_individuals(series, rules=wishes.rules, decided=wishes.decided(history)), series


def _ewma(history: History, wishes: Wishes) -> tuple[Chart, Series]:
    series = _series(history, wishes)
    decided = wishes.decided(history)
    return chart_ewma(series, weight=wishes.weight, start=wishes.start, decided=decided), series


def _cusum(history: History, wishes: Wishes) -> tuple[Chart, Series]:
    series = _series(history, wishes)
    target_only = wishes.centre is not None and wishes.sigma is None
    chart = chart_cusum(
        series,
        target=wishes.centre,
        allowance=wishes.allowance,
        interval=wishes.interval,
        decided=None if target_only else wishes.decided(history),
    )
    return chart, series


def _groups(history: History) -> dict[str, list[float]]:
    """Return the results of each subgroup: as given, else the repeats of each verification."""
    if history.singles:
        return {
            label: list(results)
            for label, results in zip(history.labels, history.singles, strict=True)
        }
    groups: dict[str, list[float]] = {}
    for name, value in zip(history.subgroups, history.values, strict=False):
        groups.setdefault(name, []).append(value)
    return groups


def _means(history: History, wishes: Wishes) -> tuple[Chart, None]:
    groups = _groups(history)
    if not groups or len({len(group) for group in groups.values()}) != 1:
        raise InputError(
            "subgroups-unequal",
            "A chart of means needs equally many results in each subgroup."
            if groups
            else "A chart of means needs subgroups.",
            where="subgroups",
            fix="Chart single results; or give a CSV file with a column subgroup, or verify with "
            "equally many results each time.",
        )
    chart = chart_subgroups(
        list(groups.values()),
        spread=wishes.kind.removeprefix("means-").removesuffix("s"),
        rules=wishes.rules,
        base=wishes.base,
        resolution=max(history.resolutions),
        explained=[bool(cause) for cause in history.causes] if history.singles else None,
    )
    return chart, None


_MAKERS: Final[dict[str, Callable[[History, Wishes], tuple[Chart, Series | None]]]] = {
    "individuals": _individuals,
    "ewma": _ewma,
    "cusum": _cusum,
    "means-ranges": _means,
    "means-deviations": _means,
}


def _answer(
    history: History,
    wishes: Wishes,
    chart: Chart,
    series: Series | None,
    labels: tuple[str, ...],
    causes: tuple[str, ...],
) -> Answer:
    hits = _all_hits(chart)
    unexplained = {
        position
        for positions in hits.values()
        for position in positions
        if not causes[position - 1]
    }
    base = chart.values.size if series is None else int(series.in_base().sum())
    return {
        "kind": wishes.kind,
        "what": history.what,
        "unit": history.unit,
        "points": _points(chart, history, hits, labels, causes),
        "centre": chart.limits.centre,
        "lower": chart.limits.lower,
        "upper": chart.limits.upper,
        "sigma": chart.limits.sigma,
        "limits_from": chart.limits.how,
        "base": base,
        "in_control": not unexplained,
        "rule_hits": hits,
        "rules": {number: RULES[number].words for number in wishes.rules},
        "companion": _companion(chart),
        "resolution": max(history.resolutions),
        "resolution_coarse": chart.coarse,
        "normality": normality(series),
        "autocorrelation": autocorrelation(series),
        **precision(history, chart),
        "warnings": [*_warnings(chart, base, wishes, history), *history.warnings],
    }


def _points(
    chart: Chart,
    history: History,
    hits: dict[str, list[int]],
    labels: tuple[str, ...],
    causes: tuple[str, ...],
) -> list[Answer]:
    signals: dict[int, list[str]] = {}
    for rule, positions in hits.items():
        for position in positions:
            signals.setdefault(position, []).append(rule)
    points: list[Answer] = [
        {
            "number": number,
            "label": label,
            "value": value,
            "signal": signals.get(number, []),
            "cause": cause or None,
        }
        for number, (label, value, cause) in enumerate(
            zip(labels, chart.values.tolist(), causes, strict=True), start=1
        )
    ]
    if chart.kind in {"ewma", "cusum"}:
        for place, point in enumerate(points):
            point.update(_beside(chart, history, place))
    return points


def _all_hits(chart: Chart) -> dict[str, list[int]]:
    return chart.hits | ({} if chart.companion is None else chart.companion.hits)


def _beside(chart: Chart, history: History, place: int) -> Answer:
    """Return what stands beside a charted value that is not the result itself."""
    beside = {"result": history.values[place]}
    if chart.sums is not None:
        high, low = chart.sums
        beside |= {"sum_high": float(high[place]), "sum_low": float(low[place])}
    return beside


def _companion(chart: Chart) -> Answer | None:
    spread = chart.companion
    if spread is None:
        return None
    return {
        "kind": spread.kind,
        "values": spread.values.tolist(),
        "centre": spread.limits.centre,
        "lower": spread.limits.lower,
        "upper": spread.limits.upper,
        "limits_from": spread.limits.how,
    }


def _warnings(chart: Chart, base: int, wishes: Wishes, history: History) -> list[str]:
    said = []
    if chart.coarse:
        words = (
            f"Results are read to {max(history.resolutions):g} {history.unit}, coarser than half "
            "their standard deviation: s is estimated from the brackets, a point signals only "
            "where all that is rounded to it lies beyond, and normality is not judged."
        )
        if chart.estimate is not None and chart.estimate.deviation is None:
            words += (
                " The brackets fix no s; the limits rest on the largest that they allow "
                f"({chart.estimate.deviation_upper:.3g}, 95 %)."
            )
        said.append(words)
    provisional = wishes.decided(history) is None and wishes.allowance is None
    if base < USUAL_BASE and provisional and not wishes.kind.startswith("means"):
        said.append(
            f"The limits rest on {base} results; they are provisional until there are {USUAL_BASE}."
        )
    return said
