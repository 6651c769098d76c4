"""What an address asks: its search parameters, read one by one, none of them ignored."""

from collections.abc import Callable
from typing import TypeVar

from starlette.requests import Request

from closedcup.errors import InputError

T = TypeVar("T")


class Asked:
    """The search parameters of one address; one that nobody reads is refused, not ignored."""

    def __init__(self, request: Request, *names: str) -> None:
        self._given = request.query_params
        for name in self._given:
            if name not in names:
                raise InputError(
                    "parameter-unknown",
                    f"“{name}” is not something that {request.url.path} asks.",
                    where=request.url.path,
                    fix=f"It asks: {', '.join(names) or 'nothing'}.",
                )

    def text(self, name: str, otherwise: str | None = None) -> str | None:
        """Return a parameter, or what stands for it where it is not given."""
        return self._given.get(name) or otherwise

    def needed(self, name: str, example: str) -> str:
        """Return a parameter; InputError with an example where it is missing."""
        text = self._given.get(name)
        if not text:
            raise InputError(
                "parameter-missing",
                f"“{name}” is missing.",
                where=name,
                fix=f"Give it like {name}={example}.",
            )
        return text

    def each(self, name: str) -> list[str]:
        """Return every value of a parameter."""
        return list(self._given.getlist(name))

    def yes(self, name: str) -> bool:
        """Return a parameter that is yes or no, and no where it is not given."""
        text = (self._given.get(name) or "no").lower()
        if text not in {"yes", "no"}:
            raise InputError(
                "not-yes-or-no",
                f"“{text}” is neither yes nor no.",
                where=name,
                fix="Say yes or no.",
            )
        return text == "yes"

    def read(self, name: str, parse: Callable[[str], T]) -> T | None:
        """Return what `parse` makes of a parameter; None where it is not given."""
        text = self.text(name)
        return None if text is None else parse(text)
