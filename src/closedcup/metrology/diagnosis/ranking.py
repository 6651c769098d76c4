"""Rank the causes that explain a history of differences from reference values."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from closedcup.metrology.diagnosis.history import Floats, ReferenceHistory
from closedcup.metrology.diagnosis.likelihood import Weighed, weigh
from closedcup.metrology.diagnosis.signatures import SCATTER, Signature, signatures

# Nothing wrong is as likely beforehand as all causes together (our choice). A cause is named where
# all of them together have become the likelier.
_CLEAN_BEFORE: Final = 0.5
# Likelihoods nearer than this to one another do not tell two causes apart: "strong" evidence
# begins at odds of 10 (Jeffreys' scale, memory).
_TOLD_APART: Final = float(np.log(10.0))
_HALF_95: Final = 1.96


@dataclass(frozen=True, slots=True)
class RankedCause:
    """A cause, its posterior probability and its effect where that is largest.

    log10_odds: over nothing being wrong, with equal chances beforehand. effect_c is signed, with a
    95 % interval; for scatter it is what the site's repeatability has more than the method's.
    at: with which lid, person or lot. fitted_c: the effect on each result, n.
    """

    cause: str
    probability: float
    log10_odds: float
    effect_c: float
    low_c: float
    high_c: float
    at: str
    column: Floats

    @property
    def fitted_c(self) -> Floats:
        """The effect on each result; zeros for scatter."""
        return self.effect_c * self.column


@dataclass(frozen=True, slots=True)
class Diagnosis:
    """Causes in order of their probability.

    clean_probability: that nothing is wrong. found: that is less likely than the causes together.
    alike: the cause that the data cannot tell from the first, "" where there is none.
    not_examined: cause to why not.
    """

    causes: tuple[RankedCause, ...]
    clean_probability: float
    found: bool
    alike: str
    not_examined: dict[str, str]

    @property
    def named(self) -> tuple[str, ...]:
        """Return the cause or the two that stand first; none where nothing was found."""
        if not self.found:
            return ()
        return (self.causes[0].cause, self.alike) if self.alike else (self.causes[0].cause,)


def diagnose(history: ReferenceHistory) -> Diagnosis:
    """Rank the causes of one history; see `diagnose_all`."""
    return diagnose_all([history])[0]


def diagnose_all(histories: Sequence[ReferenceHistory]) -> list[Diagnosis]:
    """Rank the causes of each history.

    At least 8 results each; histories alike in length and columns are weighed at once. Raises
    Refused for fewer results, InputError for figures that are not finite or an r of zero.
    """
    alike: defaultdict[tuple[object, ...], list[int]] = defaultdict(list)
    columns, missing = [], []
    for place, history in enumerate(histories):
        history.check()
        found, absent = signatures(history)
        columns.append(found)
        missing.append(absent)
        alike[history.difference_c.size, tuple(one.cause for one in found)].append(place)
    diagnoses: dict[int, Diagnosis] = {}
    for places in alike.values():
        weighed = weigh([histories[one] for one in places], [columns[one] for one in places])
        for row, place in enumerate(places):
            ranked = _Ranking(histories[place], columns[place], weighed, row)
            diagnoses[place] = ranked.diagnosis(missing[place])
    return [diagnoses[place] for place in range(len(histories))]


class _Ranking:
    """One history's row of what was weighed, with the columns that belong to it."""

    def __init__(
        self,
        history: ReferenceHistory,
        columns: Sequence[Signature],
        weighed: Weighed,
        row: int,
    ) -> None:
        self.history, self.columns, self.weighed, self.row = history, columns, weighed, row
        self.evidence = weighed.log_evidence[row]
        self.models: defaultdict[str, list[int]] = defaultdict(list)
        for model, one in enumerate(columns, start=1):
            self.models[one.cause].append(model)
        self.models[SCATTER] = [self.evidence.size - 1]

    def diagnosis(self, missing: dict[str, str]) -> Diagnosis:
        """Give each cause the same chance beforehand, and each column of a cause likewise."""
        logs = {
            cause: float(np.logaddexp.reduce(self.evidence[models]) - np.log(len(models)))
            for cause, models in self.models.items()
        }
        share = float(np.log((1 - _CLEAN_BEFORE) / len(logs)))
        clean = float(self.evidence[0] + np.log(_CLEAN_BEFORE))
        total = float(np.logaddexp.reduce([clean, *(log + share for log in logs.values())]))
        order = sorted(logs, key=logs.__getitem__, reverse=True)
        return Diagnosis(
            causes=tuple(
                self._cause(cause, logs[cause], float(np.exp(logs[cause] + share - total)))
                for cause in order
            ),
            clean_probability=float(np.exp(clean - total)),
            found=bool(clean - total < np.log(0.5)),
            alike=self._not_told_apart(order),
            not_examined=missing,
        )

    def _best(self, cause: str) -> int:
        return max(self.models[cause], key=self.evidence.__getitem__)

    def _not_told_apart(self, order: Sequence[str]) -> str:
        """Return the likeliest other cause that fits the data as well as the first, or ""."""
        fit = self.weighed.fit[self.row]
        first = fit[self._best(order[0])]
        near = (one for one in order[1:] if first - fit[self._best(one)] < _TOLD_APART)
        return next(near, "")

    def _cause(self, cause: str, log: float, probability: float) -> RankedCause:
        model, weighed, row = self._best(cause), self.weighed, self.row
        if cause == SCATTER:
            unit = self.history.mean_repeatability_c
            effect, deviation = weighed.noise[row, model] - 1, weighed.noise_deviation[row, model]
            effect, deviation = effect * unit, deviation * unit
            at, column = "", np.zeros_like(self.history.difference_c)
        else:
            effect, deviation = weighed.effect_c[row, model], weighed.effect_deviation_c[row, model]
            at, column = self.columns[model - 1].at, self.columns[model - 1].column
        return RankedCause(
            cause=cause,
            probability=probability,
            log10_odds=float((log - self.evidence[0]) / np.log(10)),
            effect_c=float(effect),
            low_c=float(effect - _HALF_95 * deviation),
            high_c=float(effect + _HALF_95 * deviation),
            at=at,
            column=column,
        )
