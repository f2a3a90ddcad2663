"""Files of the demo session as text: ``session.toml`` and the dialects of two invented loggers."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from pullbook.bench.demo_air import air_at
from pullbook.bench.demo_plan import RUN_SHEET, DemoPull
from pullbook.bench.demo_sweep import INERTIA

if TYPE_CHECKING:
    from collections.abc import Mapping

    from pullbook.quantities.arrays import FloatArray

__all__ = ["INVENTED", "engine_file_name", "pull_file_name", "render_pull", "render_second_logger", "render_session"]

INVENTED: Final = "Invented data: computed by a virtual engine with scatter on top, not measured on any engine"

_HEAD: Final = f"""\
# Demo session of pullbook. INVENTED: the torque in pulls/ was computed by pullbook's virtual engine from the engine
# files in engines/, with a model of scatter, re-fitting and drift on top. No such engine exists and no bench measured
# it. Change what you like and compare again.

[session]
title = "Runner length, header and inlet cam on a 2.2 litre four (invented)"
question = "Which intake runners, which header and which cam timing suit a hill-climb car?"
notes = "Invented for the demo: the curves were computed by the virtual engine, the scatter comes from a noise model."
date = 2026-05-09
dyno = "engine"
standard = "SAE J1349"        # what the findings are corrected to
inertia = "{INERTIA} kg m^2"      # everything that turns on the engine side of the torque cell
windows = ["2200..2800 rpm", "4500..5300 rpm", "6300..6900 rpm"]

[engine]
name = "2.2 litre inline four (invented)"
displacement = "2.2 L"

[limits]                      # outside these a pull is not fit to compare
oil_temperature = "80..110 degC"
coolant_temperature = "75..95 degC"
mixture = "0.84..0.92 lambda"

# What is changed, and what a change costs.

[[factor]]
name = "runners"
levels = ["420 mm", "260 mm"]
change = "50 min"

[[factor]]
name = "header"
levels = ["4-1", "4-2-1"]
change = "75 min"

[[factor]]
name = "inlet cam"
levels = ["straight up", "4 deg advanced"]
change = "60 min"

# Five of the eight combinations were run. The advanced cam was tried with one intake and one header only.

[[build]]
name = "A"
label = "long runners, 4-1"
baseline = true
levels = {{ runners = "420 mm", header = "4-1", "inlet cam" = "straight up" }}

[[build]]
name = "B"
label = "short runners, 4-1"
levels = {{ runners = "260 mm", header = "4-1", "inlet cam" = "straight up" }}

[[build]]
name = "C"
label = "short runners, 4-2-1"
levels = {{ runners = "260 mm", header = "4-2-1", "inlet cam" = "straight up" }}

[[build]]
name = "D"
label = "long runners, 4-2-1"
levels = {{ runners = "420 mm", header = "4-2-1", "inlet cam" = "straight up" }}

[[build]]
name = "E"
label = "long runners, 4-2-1, cam advanced"
levels = {{ runners = "420 mm", header = "4-2-1", "inlet cam" = "4 deg advanced" }}

# The run sheet, in run order. The air was written down by hand; the channels in the files win over it.
"""

_CLAIMS: Final = """
# What people say about such changes.

[[claim]]
id = "short-runners-top"
says = "Short runners are worth at least 4 kW from 6300 to 6900 rpm"
of = "B"
from = "A"
quantity = "power"
where = "6300..6900 rpm"
at_least = "4 kW"

[[claim]]
id = "four-two-one-loses-nothing"
says = "A four-two-one header loses nothing at the top"
of = "D"
from = "A"
quantity = "torque"
where = "5800..6800 rpm"
at_least = "0 N m"

[[claim]]
id = "advance-helps-the-bottom"
says = "Advancing the inlet cam by 4 degrees is worth at least 4 N m from 2500 to 3500 rpm"
of = "E"
from = "D"
quantity = "torque"
where = "2500..3500 rpm"
at_least = "4 N m"
"""

_DIGITS: Final = {
    "Time (s)": 2,
    "Engine speed (rpm)": 1,
    "Torque (Nm)": 2,
    "Throttle (%)": 1,
    "Lambda (-)": 3,
    "Oil temperature (degC)": 1,
    "Coolant temperature (degC)": 1,
    "Inlet air temperature (degC)": 1,
    "Barometer (hPa)": 1,
    "Relative humidity (%)": 1,
    "Fuel flow (kg/h)": 2,
    "Spark advance (deg)": 1,
}
# The second logger knows fewer channels, names them in German, and writes decimal commas.
_GERMAN: Final = {
    "Zeit [s]": "Time (s)",
    "Drehzahl [1/min]": "Engine speed (rpm)",
    "Drehmoment [Nm]": "Torque (Nm)",
    "Drosselklappe [%]": "Throttle (%)",
    "Lambda [-]": "Lambda (-)",
    "Öltemperatur [°C]": "Oil temperature (degC)",
    "Kühlmitteltemperatur [°C]": "Coolant temperature (degC)",
    "Ansauglufttemperatur [°C]": "Inlet air temperature (degC)",
    "Luftdruck [hPa]": "Barometer (hPa)",
    "Luftfeuchte [%]": "Relative humidity (%)",
}


def pull_file_name(planned: DemoPull) -> str:
    """Path of a pull inside the session folder."""
    return f"pulls/{planned.name}.{'txt' if planned.second_logger else 'csv'}"


def engine_file_name(build: str) -> str:
    """Path of the engine file of a build inside the session folder."""
    return f"engines/{build.lower()}.toml"


def render_session() -> str:
    """``session.toml`` as a tester would write it."""
    return _HEAD + "".join(_render_entry(planned) for planned in RUN_SHEET) + _CLAIMS


def render_pull(planned: DemoPull, channels: Mapping[str, FloatArray]) -> bytes:
    """A pull as the first logger writes it.

    Parameters
    ----------
    planned : DemoPull
        Line of the run sheet.
    channels : mapping of str to (n,) array of float
        Values in the unit that the name gives. [as named]

    Returns
    -------
    content : bytes
        UTF-8, a comma between columns, a decimal point, two lines of remarks.
    """
    head = [f"# {INVENTED}", f"# Build {planned.build}, pull {planned.name}, {_clock(planned)}", ",".join(_DIGITS)]
    columns = [[f"{value:.{digits}f}" for value in channels[name]] for name, digits in _DIGITS.items()]
    rows = [",".join(row) for row in zip(*columns, strict=True)]
    return ("\n".join([*head, *rows]) + "\n").encode()


def render_second_logger(planned: DemoPull, channels: Mapping[str, FloatArray]) -> bytes:
    """A pull as the second logger writes it.

    Parameters
    ----------
    planned : DemoPull
        Line of the run sheet.
    channels : mapping of str to (n,) array of float
        Values in the unit that the name gives. [as named]

    Returns
    -------
    content : bytes
        Windows-1252 with CR LF, a semicolon between columns, a decimal comma and German names.
    """
    head = [f"{INVENTED} ({planned.name})", ";".join(_GERMAN)]
    columns = [
        [f"{value:.{_DIGITS[name]}f}".replace(".", ",") for value in channels[name]] for name in _GERMAN.values()
    ]
    rows = [";".join(row) for row in zip(*columns, strict=True)]
    return ("\r\n".join([*head, *rows]) + "\r\n").encode("cp1252")


def _clock(planned: DemoPull) -> str:
    return f"{planned.minutes // 60:02d}:{planned.minutes % 60:02d}"


def _render_entry(planned: DemoPull) -> str:
    air = air_at(planned.minutes)
    return f"""
[[pull]]
build = "{planned.build}"
file = "{pull_file_name(planned)}"
time = 2026-05-09T{_clock(planned)}:00
air = {{ temperature = "{air.temperature - 273.15:.1f} degC", pressure = "{air.pressure / 1000.0:.2f} kPa", \
humidity = "{100.0 * air.humidity:.0f} %" }}
received = "observed"
"""
