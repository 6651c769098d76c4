"""How cold a sample is before it is opened: when it was put to chill, and what was read since."""

from dataclasses import dataclass
from decimal import Decimal


@dataclass(frozen=True, slots=True)
class SampleChilling:
    """A sample was put to chill, or its temperature was read (then `temperature_c` says it)."""

    sample: str
    temperature_c: Decimal | None = None
