"""What each number of a method's data file means: its name, its unit and words for the page."""

from typing import Final, NamedTuple


class Meaning(NamedTuple):
    """The unit a number must carry and what it is."""

    unit: str
    words: str


# Times are in seconds, temperatures in °C. "range" is on the corrected scale (flash points);
# everything that is set or read at the cup is on the cup's scale.
MEANINGS: Final[dict[str, Meaning]] = {
    "range_low": Meaning("degC", "lowest flash point in the scope"),
    "range_high": Meaning("degC", "highest flash point in the scope"),
    "coarse_step": Meaning("degC", "step of the first search"),
    "fine_step": Meaning("degC", "step of the second search"),
    "half_step": Meaning("degC", "optional last step"),
    "start_offset": Meaning("degC", "start below the expected flash point by"),
    "start_tolerance": Meaning("degC", "the start may differ by"),
    "restart_drop": Meaning("degC", "start lower by, after continuous burning"),
    "reversal": Meaning("degC", "no flash this much above a flash does not hold together"),
    "hold_tolerance": Meaning("degC", "the cup counts as at its temperature within"),
    "dwell_tolerance": Meaning("s", "the dwell may differ by"),
    "recovery_below": Meaning("degC", "the dwell counts from the cup's recovery when set below"),
    "recording_allowance": Meaning("s", "the observation may be recorded later by"),
    "ramp_rate": Meaning("degC/min", "heating rate"),
    "ramp_rate_tolerance": Meaning("degC/min", "the heating rate may differ by"),
    "stirrer_low": Meaning("1/min", "stirrer, slowest"),
    "stirrer_high": Meaning("1/min", "stirrer, fastest"),
    "rounding": Meaning("degC", "report to the nearest"),
    "least_sample": Meaning("mL", "least sample to be received"),
    "chill_below_expected": Meaning("degC", "open the sample only this far below expected"),
    "fill_low": Meaning("%", "container at least this full"),
    "fill_high": Meaning("%", "container at most this full"),
    "flame_gauge": Meaning("mm", "test flame"),
    "application_time": Meaning("s", "igniter in and out again within"),
    "correction_per_kpa": Meaning("degC/kPa", "pressure correction"),
    "viscosity_limit": Meaning("mm2/s", "kinematic viscosity below"),
    "viscosity_limit_at": Meaning("degC", "temperature of that viscosity"),
    "viscosity_limit_cold": Meaning("mm2/s", "kinematic viscosity below, measured colder"),
    "viscosity_limit_cold_at": Meaning("degC", "temperature of that viscosity"),
    "range_high_manual": Meaning("degC", "highest flash point with manual apparatus"),
    "window_low": Meaning("degC", "flash at least this far above the first application"),
    "window_high": Meaning("degC", "flash at most this far above the first application"),
    "unknown_start": Meaning("degC", "nothing expected: start specimen and apparatus at"),
    "unknown_start_tolerance": Meaning("degC", "that start may differ by"),
    "unknown_first_above": Meaning("degC", "nothing expected: first application above the start"),
    "safety_above": Meaning("degC", "safety applications when more than this is expected"),
    "safety_interval": Meaning("degC", "safety applications every"),
    "safety_until_below": Meaning("degC", "safety applications end below the expected by"),
    "rate_checks": Meaning("1", "the heating rate is checked, times in a run"),
    "warm_below_expected": Meaning("degC", "warm a viscous sample no nearer to the expected than"),
    "bath_lead": Meaning("degC", "the bath is at most this much warmer than the specimen"),
    "application_down": Meaning("s", "igniter lowered within"),
    "application_hold": Meaning("s", "igniter held in the vapour for"),
    "flame_low": Meaning("mm", "test flame, smallest"),
    "flame_high": Meaning("mm", "test flame, largest"),
    "cup_volume": Meaning("mL", "volume of the cup"),
    "pressure_rise": Meaning("kPa", "a flash is a rise of pressure above"),
    "precision_proven_to": Meaning("degC", "precision established up to"),
    "duplicate_limit": Meaning("degC", "two determinations of one result within"),
}
