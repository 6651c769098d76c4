"""How single values are written in a report: numbers, temperatures, moments."""

from datetime import datetime

from closedcup.errors import InputError
from closedcup.reports.shape import Measured


def present(*texts: str | None) -> list[str]:
    """Return the texts that are there, in order."""
    return [text for text in texts if text]


def number_text(value: Measured, *, signed: bool = False) -> str:
    """Write a measured value: a string as it stands, a float with at most three decimals."""
    text = value if isinstance(value, str) else f"{round(value, 3):.3f}".rstrip("0").rstrip(".")
    if signed and not text.startswith(("-", "+")):
        text = f"+{text}"
    return text.replace("-", "−")


def limit_text(text: str) -> str:
    """Write the operator of a limit as one sign: ">= 38 °C" becomes "≥ 38 °C"."""
    return text.replace(">=", "≥").replace("<=", "≤")


def celsius(value: Measured | None, *, signed: bool = False, without: str = "none") -> str:
    """Write a temperature or a difference in °C, or `without` where there is none."""
    return without if value is None else f"{number_text(value, signed=signed)} °C"


def when(text: str | None, where: str) -> str:
    """Write an ISO 8601 moment as "2026-11-25 08:44 +01:00"; a date alone stays a date.

    Raises InputError, naming `where`, for text that is neither.
    """
    if text is None:
        return "not given"
    try:
        moment = datetime.fromisoformat(text)
    except ValueError as error:
        raise InputError(
            "not-a-date",
            f"{text!r} is not a date and time.",
            where=where,
            fix="Write it like 2026-11-25T08:44:00+01:00.",
        ) from error
    if "T" not in text and " " not in text:
        return text
    day_and_time, offset = (
        moment.strftime("%Y-%m-%d %H:%M"),
        moment.isoformat(timespec="minutes")[16:],
    )
    return f"{day_and_time} {offset}".rstrip()
