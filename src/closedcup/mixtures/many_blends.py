"""Many blends of many liquids, each solved as `estimate` would solve it alone.

Rows share their columns, not their liquids: most hold a few. A row takes the model of activity
that its own liquids call for, and is refused, by name, only for a liquid or a pair that it holds.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Final

import numpy as np
from numpy.typing import NDArray

from closedcup.errors import Refused
from closedcup.mixtures.activity import DEFAULT, PairParameters
from closedcup.mixtures.blend import Basis, moles_per_amount
from closedcup.mixtures.liquids import Liquid
from closedcup.mixtures.pure_values import PureFlash, pure_flashes
from closedcup.mixtures.sweep import Sweep, refuse_resins, sweep
from closedcup.mixtures.sweep_notes import notes, of_pure

Array = NDArray[np.float64]

# Combinations of liquids that are kept ready; a file seldom has more.
MOST_KEPT: Final = 2000
NOTHING_BURNS: Final = "no flammable liquid is present"


@dataclass(frozen=True, slots=True)
class SolvedBlends:
    """One entry per row. `flash_c` (corrected scale) is nan where there is none.

    `no_flash` says why there is none, `refused` why no answer can be given ("" where one is);
    `notes` name what widens the answer.
    """

    flash_c: Array
    liquid_phases: NDArray[np.int_]
    no_flash: NDArray[np.str_]
    refused: list[str]
    notes: list[str]


@dataclass(slots=True)
class ManyBlends:
    """Liquids of which any may be in a blend; `at` solves rows of declared amounts."""

    liquids: tuple[Liquid, ...]
    basis: Basis = "mole"
    activity: str = DEFAULT
    parameters: PairParameters | None = None
    _ready: dict[tuple[bytes, str], Sweep | Refused] = field(default_factory=dict)
    _single: list[PureFlash | Refused] = field(default_factory=list)

    def __post_init__(self) -> None:
        self._single = [_single(liquid, self.basis) for liquid in self.liquids]

    def refusals(self) -> Mapping[str, str]:
        """Return the liquids that no blend can hold, with the reason."""
        return {
            liquid.name: found.what
            for liquid, found in zip(self.liquids, self._single, strict=True)
            if isinstance(found, Refused)
        }

    def pure_warnings(self) -> list[str]:
        """Return what must be known of the pure values."""
        return [
            each.warning for each in self._single if isinstance(each, PureFlash) and each.warning
        ]

    def at(self, amounts: Array) -> SolvedBlends:
        """Solve declared amounts, shape (rows, liquids); a row's sum need not be one."""
        count = len(amounts)
        result = SolvedBlends(
            np.full(count, np.nan), np.zeros(count, dtype=int), np.full(count, "", dtype="U64"),
            [""] * count, [""] * count,
        )  # fmt: skip
        present = amounts > 0
        rows = self._set_aside_unusable(present, result)
        pure = present[rows].sum(axis=1) == 1
        self._solve_pure(present, rows[pure], result)
        for group, columns, activity in self._groups(present, rows[~pure]):
            made = self._made(columns, activity)
            if isinstance(made, Refused):
                for row in group.tolist():
                    result.refused[row] = made.what
            else:
                _solve(made, amounts[np.ix_(group, np.flatnonzero(columns))], group, result)
        return result

    def _set_aside_unusable(
        self, present: NDArray[np.bool_], result: SolvedBlends
    ) -> NDArray[np.intp]:
        """Refuse rows that hold a liquid of which too little is known; return the others."""
        usable = np.ones(len(present), dtype=bool)
        for place, found in enumerate(self._single):
            if isinstance(found, Refused):
                for row in np.flatnonzero(present[:, place] & usable).tolist():
                    result.refused[row] = found.what
                usable &= ~present[:, place]
        return np.flatnonzero(usable)

    def _solve_pure(
        self, present: NDArray[np.bool_], rows: NDArray[np.intp], result: SolvedBlends
    ) -> None:
        """Give a pure liquid its own flash point: it needs no sum and no model."""
        which = present[rows].argmax(axis=1)
        for place in np.unique(which).tolist():
            asked, found, liquid = rows[which == place], self._single[place], self.liquids[place]
            if isinstance(found, Refused):
                continue
            result.flash_c[asked] = found.flash_c
            result.liquid_phases[asked] = 1
            if np.isnan(found.flash_c):
                result.no_flash[asked] = NOTHING_BURNS
            if note := of_pure(liquid, found.flash_c):
                for row in asked.tolist():
                    result.notes[row] = note

    def _groups(
        self, present: NDArray[np.bool_], rows: NDArray[np.intp]
    ) -> Iterator[tuple[NDArray[np.intp], NDArray[np.bool_], str]]:
        """Yield rows that can be solved together, with their columns and model.

        All rows of one model go together where it knows every pair; else each combination of
        liquids goes alone.
        """
        inert = np.array([liquid.role == "inert" for liquid in self.liquids])
        aqueous = present[rows][:, inert].any(axis=1)
        for water, preferred in ((True, "dortmund"), (False, "unifac")):
            asked = rows[aqueous == water]
            activity = preferred if self.activity == DEFAULT else self.activity
            known = self._known_to(activity)
            together = asked[~present[asked][:, ~known].any(axis=1)]
            if len(together) and not isinstance(self._made(known, activity), Refused):
                yield together, known, activity
                asked = asked[present[asked][:, ~known].any(axis=1)]
            if len(asked):
                kinds, place = np.unique(present[asked], axis=0, return_inverse=True)
                order = np.argsort(place, kind="stable")
                ends = np.cumsum(np.bincount(place))[:-1]
                for columns, group in zip(kinds, np.split(order, ends), strict=True):
                    yield asked[group], columns, self.activity

    def _known_to(self, activity: str) -> NDArray[np.bool_]:
        """Return which liquids a model and the sum can hold, each taken alone."""
        alone = np.eye(len(self.liquids), dtype=bool)
        return np.array([not isinstance(self._made(each, activity), Refused) for each in alone])

    def _made(self, columns: NDArray[np.bool_], activity: str) -> Sweep | Refused:
        key = columns.tobytes(), activity
        if key not in self._ready:
            if len(self._ready) >= MOST_KEPT:
                self._ready.clear()
            self._ready[key] = self._make(columns, activity)
        return self._ready[key]

    def _make(self, columns: NDArray[np.bool_], activity: str) -> Sweep | Refused:
        liquids = [self.liquids[i] for i in np.flatnonzero(columns)]
        try:
            return sweep(liquids, basis=self.basis, activity=activity, parameters=self.parameters)
        except Refused as refused:
            return refused


def _single(liquid: Liquid, basis: Basis) -> PureFlash | Refused:
    """Return what is taken for a liquid, or why no blend can hold it."""
    try:
        refuse_resins([liquid])
        pure = pure_flashes([liquid])[0]
        moles_per_amount(liquid, basis)
    except Refused as refused:
        return refused
    return pure


def _solve(made: Sweep, amounts: Array, rows: NDArray[np.intp], result: SolvedBlends) -> None:
    swept = made.at(amounts)
    result.flash_c[rows] = swept.flash_c
    result.liquid_phases[rows] = swept.liquid_phases
    result.no_flash[rows] = swept.no_flash
    for place, note in notes(made, swept):
        result.notes[rows[place]] = note
