"""Forms: read what was typed, say field by field what is wrong, and keep every character of it."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from decimal import Decimal, InvalidOperation
from typing import TypeVar
from uuid import uuid4

from closedcup.errors import ClosedcupError, InputError

T = TypeVar("T")


def new_key() -> str:
    """Return the key that a page gives to an entry, so that a double press records once."""
    return str(uuid4())


@dataclass(slots=True)
class Form:
    """What was typed into a form, and what is wrong with it.

    errors: field name → what is wrong. refused: what is wrong with the form as a whole.
    upload: name and content of the file that was sent with it, if one was.
    """

    typed: dict[str, str] = field(default_factory=dict)
    errors: dict[str, ClosedcupError] = field(default_factory=dict)
    refused: ClosedcupError | None = None
    upload: tuple[str, bytes] | None = None
    key: str = field(default_factory=new_key)

    @classmethod
    def of(cls, sent: Mapping[str, str]) -> "Form":
        """Take in a form as sent, with the key that the page had given it."""
        form = cls({name: text for name, text in sent.items() if name != "key"})
        form.key = sent.get("key", "").strip() or form.key
        return form

    @property
    def is_faulty(self) -> bool:
        """Whether something must be mended before it can be recorded."""
        return bool(self.errors) or self.refused is not None

    def text(self, name: str, *, required: str = "") -> str:
        """Return a field's text, trimmed; `required` says what to enter when it is empty."""
        text = self.typed.get(name, "").strip()
        if not text and required:
            self.errors[name] = InputError("field-empty", "This is needed.", fix=required)
        return text

    def parsed(self, name: str, parse: Callable[[str], T], *, required: str = "") -> T | None:
        """Return what `parse` makes of a field; None when it is empty or faulty."""
        text = self.text(name, required=required)
        if not text:
            return None
        try:
            return parse(text)
        except ClosedcupError as error:
            self.errors[name] = error
            return None

    def number(self, name: str, *, required: str = "") -> Decimal | None:
        """Return a number as typed, with its decimals; the label names its unit."""
        return self.parsed(name, parse_number, required=required)

    def checked(self, name: str) -> bool:
        """Say whether a box is ticked."""
        return bool(self.typed.get(name))


def parse_number(text: str) -> Decimal:
    """Read a plain decimal number; a comma is read as the decimal point."""
    typed = text.replace("\u2212", "-").replace(",", ".").strip()
    try:
        number = Decimal(typed)
    except InvalidOperation:
        number = Decimal("NaN")
    if not number.is_finite():
        raise InputError(
            "not-a-number",
            f"“{text}” is not a number.",
            fix="Write digits only, for example 41.5; the unit stands beside the field.",
        )
    return number
