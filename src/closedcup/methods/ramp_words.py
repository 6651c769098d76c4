"""What a heated procedure says at the bench, each in its own words."""

from closedcup.methods.bench import Run
from closedcup.methods.ramp_terms import RunTerms, number_or_none, window_c
from closedcup.methods.state import State


def loading_words(state: State, its: RunTerms, load_cup_c: float) -> str:
    """Say at what temperature the specimen goes in, and how much of it."""
    rule = state.method.specimen_rule(state.product, its.first_cup_c)
    fill = f" Fill {rule.fill}." if rule.fill else ""
    return f"Load only while the cup shows {load_cup_c:g} °C or less.{fill}"


def heating_words(state: State, its: RunTerms) -> str:
    """Say how the specimen is heated and where the igniter is first applied."""
    method, first = state.method, f"First application at {its.first_cup_c:g} °C."
    match method.procedure:
        case "bath":
            return (
                f"Warm the bath so slowly that the specimen rises at most {_rate(its)}, the bath "
                f"never more than {method.number('bath_lead').value:g} °C above it. {first}"
            )
        case "continuously closed":
            return f"Close the cup and start heating at {_rate(its)}. {first}"
        case "stirred ramp":
            return f"Start heating at {_rate(its)}, {_stirring(its)}. {first}{_safety(its)}"
        case _:
            return f"Start heating at {_rate(its)}."


def applying_words(state: State, its: RunTerms, run: Run, cup_c: float) -> str:
    """Say where the igniter is due on a run and what to look for."""
    earlier = len(run.standing)
    if its.has_safety and cup_c < its.first_cup_c:
        return f"Safety application at {cup_c:g} °C, well below the first one that counts."
    if state.method.procedure == "continuously closed":
        rise = state.method.number("pressure_rise").value
        return (
            f"The arc lights inside the closed cup at {cup_c:g} °C: a flash is a rise of pressure "
            f"above {rise:g} kPa, and nothing is seen. Record what the detector says."
        )
    if run.ramp is not None and run.ramp.automatic and earlier:
        return (
            f"The apparatus goes on applying the igniter, next at {cup_c:g} °C: record the flash "
            "when it comes, with what the cup showed then."
        )
    words = f"Next application at {cup_c:g} °C; watch for a flash over the whole surface."
    if state.method.procedure == "ramp" and earlier < 2:
        words += " First two applications: watch for burning that goes on."
    if state.method.procedure == "stirred ramp" and "stirrer_low" in state.method.numbers:
        words += " Stop the stirrer while the igniter is in."
    return words


def guess_words(found_cup_c: float) -> str:
    """Say why a first value with nothing expected does not count."""
    return (
        f"Nothing was expected, so {found_cup_c:g} °C only says where to start the determination."
    )


def window_words(its: RunTerms, above_first_c: float) -> str:
    """Say that a flash fell outside the method's window."""
    low_c, high_c = window_c(its.method) or (0.0, 0.0)
    return (
        f"The flash came {above_first_c:.1f} °C above the first application; the method asks "
        f"{low_c:g} to {high_c:g} °C: the value is approximate."
    )


def _rate(its: RunTerms) -> str:
    rule = its.interval_rule(its.first_cup_c)
    rate = rule.rate or its.method.number("ramp_rate")
    off_c = number_or_none(its.method, "ramp_rate_tolerance")
    off = "" if off_c is None or rule.rate is not None else f" ± {off_c:g}"
    return f"{rate.value:.3g}{off} °C/min"


def _stirring(its: RunTerms) -> str:
    low, high = (number_or_none(its.method, f"stirrer_{end}") for end in ("low", "high"))
    return "not stirred" if low is None else f"stirrer at {low:g} to {high:g} /min"


def _safety(its: RunTerms) -> str:
    if not its.has_safety:
        return ""
    return (
        f" A safety application every {its.method.number('safety_interval').value:g} °C on the "
        "way there is advised."
    )
