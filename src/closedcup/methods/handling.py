"""What a method asks of a sample before it is opened: cold enough, full enough, not in plastic."""

from typing import Final

from closedcup.methods.published_method import Method

# Vapour leaves through these (memory of the methods' sampling clauses).
_PLASTIC: Final = ("polyethylene", "polypropylene", "plastic", "hdpe", "ldpe")


def handling_warnings(
    method: Method,
    *,
    expected_corrected_c: float | None,
    last_c: float | None,
    fill_percent: float | None,
    container: str,
) -> tuple[str, ...]:
    """Return what to mind about a sample; losing light ends makes every value too high.

    last_c: the sample's temperature when last read; fill_percent: how full its container was. None
    where it is not on record, which is not a warning.
    """
    return (
        *_too_warm(method, expected_corrected_c, last_c),
        *_not_full(method, fill_percent),
        *_in_plastic(container),
    )


def _too_warm(
    method: Method, expected_corrected_c: float | None, last_c: float | None
) -> list[str]:
    chill = method.numbers.get("chill_below_expected")
    if chill is None or last_c is None:
        return []
    if expected_corrected_c is None:
        return [f"Nothing is expected: chill the sample ({last_c:g} °C) before it is opened."]
    open_at_c = expected_corrected_c - chill.value
    if last_c <= open_at_c:
        return []
    text = (
        f"Chill the sample before it is opened: it was at {last_c:g} °C when last read, "
        f"and "
        f"{method.designation} asks {open_at_c:.0f} °C or colder."
    )
    return [text]


def _not_full(method: Method, fill_percent: float | None) -> list[str]:
    low, high = method.numbers.get("fill_low"), method.numbers.get("fill_high")
    if fill_percent is None or low is None or high is None:
        return []
    if fill_percent >= low.value:
        return []
    text = (
        f"The container was {fill_percent:g} % full; {method.designation} asks {low.value:g} to "
        f"{high.value:g} %. Light ends may have gone into the air above."
    )
    return [text]


def _in_plastic(container: str) -> list[str]:
    if not any(word in container.lower() for word in _PLASTIC):
        return []
    return [f"The sample came in {container}: vapour passes through plastic; state it."]
