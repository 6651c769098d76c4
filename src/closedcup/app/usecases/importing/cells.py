"""One cell as a value: a number, a temperature, a date. What can be read in two ways is refused."""

import re
from collections.abc import Iterable
from datetime import date, datetime, time, tzinfo
from decimal import Decimal, InvalidOperation
from typing import Any, Final, Literal

from closedcup.app.usecases.importing.table_file import Cell
from closedcup.errors import InputError
from closedcup.quantities import parse_difference, parse_temperature, parse_volume

DecimalMark = Literal[".", ",", ""]
DateOrder = Literal["year-month-day", "day-month-year", "month-day-year", ""]
DATE_ORDERS: Final = ("year-month-day", "day-month-year", "month-day-year")

_NUMBER: Final = re.compile(r"\s*([-+−]?[\d.,' \u00a0\u202f]*\d)\s*(.*)", flags=re.DOTALL)
_OF_A_THOUSAND: Final = 3
_THOUSANDS: Final = re.compile(r"[-+]?\d{1,3}(?:[.,]\d{3})+")
_NUMERIC_DATE: Final = re.compile(
    r"(\d{1,4})([./-])(\d{1,2})\2(\d{1,4})(?:[ T](\d{1,2}):(\d\d)(?::(\d\d))?)?"
)
_UNITS: Final = {
    "°c": "degC",
    "c": "degC",
    "cel": "degC",
    "deg c": "degC",
    "celsius": "degC",
    "°f": "degF",
    "f": "degF",
    "deg f": "degF",
    "fahrenheit": "degF",
}
_YES: Final = ("yes", "y", "true", "1", "x")
_NO: Final = ("no", "n", "false", "0", "")


def decimal_mark_of(cells: Iterable[Cell]) -> DecimalMark:
    """Return the decimal mark that the texts of a column prove; empty where none does."""
    numbers = (_NUMBER.fullmatch(cell) for cell in cells if isinstance(cell, str))
    proved = {_mark_proved_by(found[1]) for found in numbers if found} - {""}
    return proved.pop() if len(proved) == 1 else ""


def _mark_proved_by(digits: str) -> DecimalMark:
    """Return the mark that cannot part thousands, as 1.000,5 and 40,5 show but 1,234 does not."""
    last = max(digits.rfind(","), digits.rfind("."))
    if last < 0:
        return ""
    mark: DecimalMark = "," if digits[last] == "," else "."
    other: DecimalMark = "." if mark == "," else ","
    if other in digits:
        return mark
    if digits.count(mark) > 1:
        return other
    behind = len(digits) - last - 1
    return mark if behind != _OF_A_THOUSAND else ""


def unit_in(heading: str) -> str:
    """Return the unit that a heading ends in: “flash [°C]”, “flash (degF)”; empty for none."""
    found = re.search(r"[\[(]\s*([^\])]+?)\s*[\])]\s*$", heading)
    return found[1] if found else ""


def text_in(cell: Cell) -> str:
    """Return a cell as text; a whole number without its point."""
    if isinstance(cell, float) and cell.is_integer():
        return str(int(cell))
    if isinstance(cell, datetime):
        return cell.isoformat()
    return "" if cell is None else str(cell).strip()


def number_in(cell: Cell, mark: DecimalMark) -> tuple[Decimal, str]:
    """Return a cell's number and what stands behind it.

    Raises InputError for no number, for NaN, and for one that reads two ways ("1,234").
    """
    if isinstance(cell, bool | date):
        raise _not_a_number(text_in(cell))
    text = repr(cell) if isinstance(cell, float) else text_in(cell)
    found = _NUMBER.fullmatch(text)
    if found is None:
        raise _not_a_number(text)
    digits = re.sub(r"[' \u00a0\u202f]", "", found[1]).replace("−", "-")
    if not isinstance(cell, float):
        if mark == "" and _THOUSANDS.fullmatch(digits):
            raise InputError(
                "number-two-ways",
                f"“{text}” reads two ways: its mark may part thousands or decimals.",
                fix="Say which mark parts decimals, “,” or “.”.",
            )
        if mark == ",":
            digits = digits.replace(".", "").replace(",", ".")
        elif digits.count(",") == 1 and mark == "":
            digits = digits.replace(",", ".")
        else:
            digits = digits.replace(",", "")
    try:
        number = Decimal(digits)
    except InvalidOperation:
        raise _not_a_number(text) from None
    if not number.is_finite():
        raise _not_a_number(text)
    return number, found[2].strip()


def _not_a_number(text: str) -> InputError:
    said = f"“{text}” is not a number." if text else "The number is missing."
    return InputError("not-a-number", said, fix="Write a number.")


def quantity_in(cell: Cell, type_: str, unit: str, mark: DecimalMark) -> Any:
    """Return a cell as temperature, difference or volume; its own unit goes before the column's.

    Raises InputError where no unit is said anywhere: a bare number is never guessed.
    """
    number, own = number_in(cell, mark)
    said = own or unit
    if not said:
        raise InputError(
            "unit-missing",
            f"“{text_in(cell)}” has no unit, and neither has its column.",
            fix="Say the column's unit, for example degC.",
        )
    known = _UNITS.get(said.casefold(), said)
    quantity = f"{number} {known}"
    match type_:
        case "temperature":
            return parse_temperature(quantity)
        case "difference":
            return parse_difference(quantity.replace(" K", " degC"))
        case _:
            return parse_volume(quantity)


def fraction_in(cell: Cell, unit: str, mark: DecimalMark) -> Decimal:
    """Return a share from 0 to 1; per cent where the cell or its column says so."""
    number, own = number_in(cell, mark)
    per_cent = "%" in (own or unit)
    share = number / 100 if per_cent else number
    if not 0 <= share <= 1:
        raise InputError(
            "fraction-out-of-range",
            f"“{text_in(cell)}” is no share from 0 to 1.",
            fix="Where it is per cent, say so: unit %.",
        )
    return share


def yes_or_no_in(cell: Cell) -> bool:
    """Return a cell as yes or no; InputError for anything else."""
    text = text_in(cell).casefold()
    if text in _YES:
        return True
    if text in _NO:
        return False
    raise InputError("not-yes-or-no", f"“{text}” is neither yes nor no.", fix="Write yes or no.")


def moment_in(cell: Cell, order: DateOrder, zone: tzinfo | None) -> str:
    """Return a date, with or without time, as ISO 8601 with the offset of `zone`.

    A date with its year first is read without asking; 03/04/05 is refused unless the order is
    said, and a year of two digits is taken in this century then.
    """
    if isinstance(cell, datetime):
        return cell.replace(tzinfo=cell.tzinfo or zone).isoformat()
    if isinstance(cell, date):
        return datetime.combine(cell, time(), zone).isoformat()
    text = text_in(cell)
    try:
        read = datetime.fromisoformat(text)
        return read.replace(tzinfo=read.tzinfo or zone).isoformat()
    except ValueError:
        pass
    found = _NUMERIC_DATE.fullmatch(text)
    if found is None:
        raise InputError("not-a-date", f"“{text}” is not a date.", fix="Write dates as 2026-03-02.")
    if not order:
        raise InputError(
            "date-two-ways",
            f"“{text}” reads in several ways.",
            fix="Say the order: day-month-year, month-day-year or year-month-day.",
        )
    parts = dict(zip(order.split("-"), (found[1], found[3], found[4]), strict=True))
    year = int(parts["year"])
    hour, minute, second = (int(part or 0) for part in found.group(5, 6, 7))
    try:
        moment = datetime(
            2000 + year if len(parts["year"]) == 2 else year,
            int(parts["month"]),
            int(parts["day"]),
            hour,
            minute,
            second,
            tzinfo=zone,
        )
    except ValueError as error:
        raise InputError(
            "not-a-date",
            f"“{text}” is no date when read as {order}: {error}.",
            fix="Check the order of day, month and year.",
        ) from error
    return moment.isoformat()
