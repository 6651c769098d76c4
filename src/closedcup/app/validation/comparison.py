"""One comparison of a computed figure with an independent one."""

from dataclasses import dataclass

from closedcup.sources import Known


@dataclass(frozen=True, slots=True)
class Comparison:
    """A published figure beside ours.

    `function` is the dotted name of the function behind the number, from the package's root
    ("methods.barometer.correction_c"). `allowed` is the largest difference accepted, with the
    reason in the module that makes the comparison; for words it is zero.
    """

    function: str
    quantity: str
    published: float | str
    computed: float | str
    allowed: float
    source: str
    known: Known

    @property
    def difference(self) -> float | None:
        """Computed minus published; None where words are compared."""
        if isinstance(self.published, str) or isinstance(self.computed, str):
            return None
        return self.computed - self.published

    @property
    def within(self) -> bool:
        """Whether the figures agree as closely as they should."""
        if self.difference is None:
            return self.computed == self.published
        return abs(self.difference) <= self.allowed

    def as_json(self) -> dict[str, object]:
        """Return the entry of `comparisons`."""
        return {
            "function": self.function,
            "quantity": self.quantity,
            "published": self.published,
            "computed": self.computed,
            "difference": self.difference,
            "allowed": self.allowed,
            "within": self.within,
            "source": self.source,
            "known": self.known,
        }
