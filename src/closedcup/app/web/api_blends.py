"""Lines, maps, formulations and evaporations for programs: the objects of their commands."""

from typing import Any, Final

from starlette.requests import Request

from closedcup.app.opening import OpenLaboratory
from closedcup.app.usecases.liquids.blending import Choices, line_answer, map_answer
from closedcup.app.usecases.liquids.formulating import evaporate_answer, formulate_answer
from closedcup.app.web.asked import Asked
from closedcup.errors import InputError
from closedcup.quantities import (
    Temperature,
    parse_amount,
    parse_fraction,
    parse_limit,
    parse_temperature,
)

_POINTS: Final = 101
_STEPS: Final = 100


def _line(_: OpenLaboratory, request: Request) -> Any:
    asked = Asked(request, "liquid", "basis", "activity", "level", "points")
    names = _liquids(asked, 2)
    points = asked.read("points", _whole) or _POINTS
    return line_answer(
        (names[0], names[1]), levels=_levels(asked), points=points, choices=_choices(asked)
    )


def _map(_: OpenLaboratory, request: Request) -> Any:
    asked = Asked(request, "liquid", "basis", "activity", "level", "steps")
    names = _liquids(asked, 3)
    return map_answer(
        (names[0], names[1], names[2]),
        levels=_levels(asked),
        steps=asked.read("steps", _whole) or _STEPS,
        choices=_choices(asked),
    )


def _formulate(_: OpenLaboratory, request: Request) -> Any:
    asked = Asked(request, "c", "limit", "most", "least", "basis", "activity")
    asked.needed("c", "decane=1")
    return formulate_answer(
        [parse_amount(text) for text in asked.each("c")],
        most=asked.text("most"),
        least=asked.text("least"),
        limit=parse_limit(asked.needed("limit", ">=60 degC")),
        choices=_choices(asked),
    )


def _evaporate(_: OpenLaboratory, request: Request) -> Any:
    asked = Asked(request, "c", "at", "lost", "basis", "activity")
    asked.needed("c", "acetone=1")
    lost = asked.each("lost") or ["1 %", "2 %", "5 %", "10 %", "20 %", "50 %"]
    return evaporate_answer(
        [parse_amount(text) for text in asked.each("c")],
        at=parse_temperature(asked.needed("at", "20 degC"), where="at"),
        lost=[float(parse_fraction(text, where="lost")[0]) for text in lost],
        choices=_choices(asked),
    )


def _liquids(asked: Asked, count: int) -> list[str]:
    names = asked.each("liquid")
    if len(names) != count:
        raise InputError(
            "liquids-miscounted",
            f"{len(names)} liquids were named, not {count}.",
            where="liquid",
            fix="Give each liquid once: liquid=ethanol&liquid=water",
        )
    return names


def _levels(asked: Asked) -> list[Temperature]:
    return [parse_temperature(text, where="level") for text in asked.each("level")]


def _choices(asked: Asked) -> Choices:
    return Choices(
        basis=asked.text("basis") or "mole", activity=asked.text("activity") or "default"
    )


def _whole(text: str) -> int:
    if not text.isdecimal():
        raise InputError(
            "not-a-whole-number",
            f"“{text}” is not a whole number.",
            where="points or steps",
            fix="Give digits only.",
        )
    return int(text)


ANSWERS: Final = (
    ("/line", _line),
    ("/map", _map),
    ("/formulate", _formulate),
    ("/evaporate", _evaporate),
)
