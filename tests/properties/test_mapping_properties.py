"""Whatever a bench calls its columns, in whatever order and unit, the log is the same."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from builders_tables import SOURCE, curve_speed, make_table, torque_curve
from hypothesis import given
from hypothesis import strategies as st

from pullbook.capture.mapping import understand
from pullbook.capture.segment import find_pulls
from pullbook.errors import PullbookError
from pullbook.quantities.channel_names import NAMES
from pullbook.quantities.channels import CHANNELS, Channel
from pullbook.quantities.spellings import SPELLINGS
from pullbook.quantities.units import UNITS, Dimension

SPEED = curve_speed(count=46)
TRUE = {
    Channel.SPEED: SPEED,
    Channel.TORQUE: torque_curve(SPEED),
    Channel.POWER: torque_curve(SPEED) * SPEED * math.pi / 30.0,
    Channel.TIME: np.linspace(0.0, 15.0, SPEED.size),
    Channel.AIR_PRESSURE: np.linspace(99_100.0, 99_200.0, SPEED.size),
    Channel.AIR_TEMPERATURE: np.linspace(296.0, 299.0, SPEED.size),
    Channel.AIR_HUMIDITY: np.linspace(0.45, 0.46, SPEED.size),
    Channel.OIL_TEMPERATURE: np.linspace(360.0, 366.0, SPEED.size),
    Channel.COOLANT_TEMPERATURE: np.linspace(355.0, 358.0, SPEED.size),
    Channel.MIXTURE: np.linspace(0.86, 0.88, SPEED.size),
    Channel.MANIFOLD_PRESSURE: np.linspace(97_000.0, 95_000.0, SPEED.size),
    Channel.OIL_PRESSURE: np.linspace(4e5, 5e5, SPEED.size),
    Channel.SPARK: np.linspace(22.0, 30.0, SPEED.size),
    Channel.THROTTLE: np.linspace(0.985, 0.99, SPEED.size),
}
# Exact factors, independent of the code under test (NIST SP 811 appendix B; the petrol gauge scale 14.7): value in
# the unit is (SI - offset) / factor.
FACTORS: dict[Dimension, dict[str, tuple[float, float]]] = {
    Dimension.SPEED: {"rpm": (1.0, 0.0), "krpm": (1000.0, 0.0), "rad/s": (30.0 / math.pi, 0.0), "Hz": (60.0, 0.0)},
    Dimension.TORQUE: {"N m": (1.0, 0.0), "lb ft": (1.3558179483314004, 0.0), "kgf m": (9.80665, 0.0)},
    Dimension.POWER: {"W": (1.0, 0.0), "kW": (1000.0, 0.0), "hp": (745.6998715822702, 0.0), "PS": (735.49875, 0.0)},
    Dimension.TIME: {"s": (1.0, 0.0), "ms": (1e-3, 0.0)},
    Dimension.PRESSURE: {"Pa": (1.0, 0.0), "hPa": (100.0, 0.0), "kPa": (1000.0, 0.0), "bar": (1e5, 0.0),
                         "mbar": (100.0, 0.0),
                         "psi": (6894.757293168, 0.0), "inHg": (3386.389, 0.0), "mmHg": (133.322387, 0.0)},
    Dimension.TEMPERATURE: {"K": (1.0, 0.0), "degC": (1.0, 273.15), "degF": (5.0 / 9.0, 459.67 * 5.0 / 9.0)},
    Dimension.RATIO: {"%": (0.01, 0.0), "1": (1.0, 0.0)},
    Dimension.MIXTURE: {"lambda": (1.0, 0.0), "AFR": (1.0 / 14.7, 0.0)},
    Dimension.ANGLE: {"deg": (1.0, 0.0)},
}  # fmt: skip
SPOKEN = {symbol: (symbol, *SPELLINGS.get(symbol, ())) for table in FACTORS.values() for symbol in table}


@st.composite
def a_column(draw: st.DrawFn, channel: Channel) -> tuple[tuple[str, str], Any]:
    """Name in some language, unit in some spelling, and the values that belong to them."""
    name = draw(st.sampled_from(NAMES[channel]))
    factors = FACTORS[CHANNELS[channel].dimension]
    symbol = draw(st.sampled_from(sorted(factors)))
    factor, offset = factors[symbol]
    return (name, draw(st.sampled_from(SPOKEN[symbol]))), (TRUE[channel] - offset) / factor


@st.composite
def a_table(draw: st.DrawFn) -> dict[tuple[str, str], Any]:
    """Columns of all channels in any order, under names that differ."""
    order = draw(st.permutations(sorted(TRUE)))
    return dict(draw(a_column(channel)) for channel in order)


@given(columns=a_table())
def test_any_name_unit_and_order_give_the_same_log(columns: dict[tuple[str, str], Any]) -> None:
    log = understand(SOURCE, make_table(columns))
    assert set(log.channels) == set(TRUE)
    for channel, values in TRUE.items():
        assert np.allclose(log.channels[channel], values, rtol=1e-9, atol=0.0), channel
    assert log.doubts == ()
    (pull,) = find_pulls(log, "x").pulls
    assert pull.rows.size > 40


@given(columns=a_table(), without=st.sampled_from(sorted(set(TRUE) - {Channel.SPEED, Channel.TORQUE, Channel.POWER})))
def test_a_column_more_or_less_changes_no_other(columns: dict[tuple[str, str], Any], without: Channel) -> None:
    whole = understand(SOURCE, make_table(columns))
    gone = next(choice.column for choice in whole.choices if choice.channel is without)
    rest = understand(SOURCE, make_table({key: values for key, values in columns.items() if key[0] != gone}))
    assert set(rest.channels) == set(TRUE) - {without}
    assert all(np.array_equal(values, whole.channels[channel]) for channel, values in rest.channels.items())


NAMES_AND_NOISE = st.one_of(
    st.sampled_from([name for names in NAMES.values() for name in names]), st.text(max_size=12),
    st.sampled_from(["Torque Corr", "Torque Uncorr", "SAE HP", "Analog #8", "EGT 1", "EGT 2", "HP", "Nm", "RPM"]),
)  # fmt: skip
UNITS_AND_NOISE = st.one_of(
    st.just(""), st.sampled_from(sorted(UNITS)), st.text(max_size=6),
    st.sampled_from([text for texts in SPELLINGS.values() for text in texts]),
)  # fmt: skip
KNOWN = (
    ("RPM", ""), ("Torque", "N m"), ("Time", "s"), ("TPS", "%"), ("Power", "kW"), ("MAP", "kPa"),
    ("Vehicle speed", "km/h"), ("Tractive force", "N"), ("Load cell", "V"), ("Lambda", ""),
)  # fmt: skip
NUMBERS = st.one_of(
    st.floats(allow_nan=True, allow_infinity=True), st.sampled_from([0.0, -1.0, 1.0, 99.5, 3000.0, 1e30, math.nan])
)


def sentence_or_pulls(columns: dict[tuple[str, str], Any]) -> str:
    """Refusal of a table, or nothing where it gave a log whose pulls are well formed."""
    try:
        found = find_pulls(understand(SOURCE, make_table(columns)), "x.csv")
    except PullbookError as error:
        return str(error)
    for pull in (*found.pulls, *found.part_throttle):
        assert all(values.size == pull.rows.size for values in pull.channels.values())
        assert np.isfinite(pull.channels[Channel.SPEED]).all()
    assert all(aside.first_row <= aside.last_row for aside in found.set_aside)
    return ""


@given(data=st.data())
def test_any_table_gives_a_log_and_pulls_or_one_sentence(data: st.DataObject) -> None:
    size, count = data.draw(st.integers(0, 25)), data.draw(st.integers(1, 6))
    sweep = st.just(np.linspace(900.0, 6000.0, size).tolist())
    values = st.one_of(st.lists(NUMBERS, min_size=size, max_size=size), sweep)
    headings = data.draw(
        st.lists(st.tuples(NAMES_AND_NOISE, UNITS_AND_NOISE), min_size=count, max_size=count, unique=True)
    )
    known = data.draw(st.lists(st.sampled_from(KNOWN), max_size=5, unique=True))
    said = sentence_or_pulls({heading: data.draw(values) for heading in dict.fromkeys((*known, *headings))})
    assert said == "" or said.startswith("pulls/a1.csv")
    assert "\n" not in said


@given(
    speed=st.lists(st.one_of(st.floats(0.0, 9000.0), st.just(math.nan)), min_size=3, max_size=120),
    seed=st.integers(0, 1000), with_time=st.booleans(),
)  # fmt: skip
def test_any_speed_trace_is_cut_without_a_crash_and_in_order(speed: list[float], seed: int, with_time: bool) -> None:  # noqa: FBT001 (drawn)
    rng = np.random.default_rng(seed)
    columns: dict[tuple[str, str], Any] = {
        ("RPM", ""): speed, ("Torque", "N m"): rng.normal(100.0, 60.0, len(speed)),
        ("TPS", "%"): rng.uniform(0, 100, len(speed)),
    }  # fmt: skip
    if with_time:
        columns["Time", "s"] = np.cumsum(rng.choice([0.0, 0.02, 0.5, 3.0], len(speed)))
    sentence_or_pulls(columns)
