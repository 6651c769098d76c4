"""Read what was seen at the cup, and what a detector said, as typed."""

from closedcup.errors import InputError
from closedcup.methods import Observation


def read_observation(text: str) -> Observation:
    """Read what was seen, in the words of the page; InputError lists them."""
    wanted = " ".join(text.lower().split())
    for observation in Observation:
        if observation.value == wanted:
            return observation
    raise InputError(
        "observation-unknown",
        f"“{text}” is not something that is recorded at the cup.",
        where="observation",
        fix=f"Use one of: {', '.join(Observation)}.",
    )


def read_detector(text: str) -> bool:
    """Read what the detector said: "flash" or "no flash"."""
    wanted = " ".join(text.lower().split())
    if wanted not in {"flash", "no flash"}:
        raise InputError(
            "detector-unknown",
            f"A detector does not say “{text}”.",
            where="detector",
            fix="Use “flash” or “no flash”.",
        )
    return wanted == "flash"
