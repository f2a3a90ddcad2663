"""Orifices, flow benches and effective areas."""

from __future__ import annotations

import math
from typing import Final

import numpy as np
import pytest

from pullbook.engine.orifice_flow import at_depression, critical_ratio, ideal_mass_flux
from pullbook.engine.valve_flow import (
    Bench,
    DischargeCurve,
    ValveSize,
    bench_curve,
    effective_area,
    head_area,
    usual_curve,
)
from pullbook.errors import OutOfRangeError

INCH: Final = 0.0254
CFM: Final = 4.719474432e-4
WATER_28: Final = 6974.49  # Pa, 28 inches of water
VALVE: Final = ValveSize(count=1, head=2.02 * INCH, throat=0.87 * 2.02 * INCH, stem=0.342 * INCH)
LIFTS: Final = tuple(0.1 * INCH * k for k in range(1, 7))
FLOWS: Final = tuple(CFM * flow for flow in (63.0, 125.0, 182.0, 225.0, 248.0, 256.0))


@pytest.mark.parametrize(("gamma", "expected"), [(1.4, 0.528282), (1.35, 0.536851), (1.33, 0.540364), (1.3, 0.545728)])
def test_critical_ratio_has_the_exact_values(gamma: float, expected: float) -> None:
    # Heywood 1988, appendix C.
    assert critical_ratio(gamma) == pytest.approx(expected, abs=5e-7)


@pytest.mark.parametrize(("gamma", "expected"), [(1.4, 0.684731), (1.35, 0.676145), (1.33, 0.672628), (1.3, 0.667262)])
def test_choked_flow_function_has_the_exact_values(gamma: float, expected: float) -> None:
    # Heywood 1988, appendix C: sqrt(g) (2/(g+1))^((g+1)/(2(g-1))).
    assert ideal_mass_flux(1.0, 1.0, 0.1, 1.0, gamma) == pytest.approx(expected, abs=5e-7)


@pytest.mark.parametrize(
    ("throat", "expected"),
    # Heywood 1988, appendix C: CD 0.6, 40 mm x 10 mm curtain, 100 kPa, 300 K.
    [(99e3, 0.036141), (95e3, 0.079043), (90e3, 0.108575), (80e3, 0.144053), (60e3, 0.173923), (50e3, 0.175931)],
)
def test_orifice_of_an_inlet_valve_has_the_worked_values(throat: float, expected: float) -> None:
    area = 0.6 * math.pi * 0.040 * 0.010
    assert area * ideal_mass_flux(100e3, 300.0, throat, 287.05, 1.4) == pytest.approx(expected, abs=6e-7)


@pytest.mark.parametrize(("pressure", "temperature", "expected"), [(3e5, 1200.0, 0.210626), (1.2e5, 1000.0, 0.071432)])
def test_orifice_of_an_exhaust_valve_has_the_worked_values(
    pressure: float, temperature: float, expected: float
) -> None:
    # Heywood 1988, appendix C: CD 0.7, 35 mm x 8 mm curtain, gamma 1.33, R 290, into 1 bar.
    area = 0.7 * math.pi * 0.035 * 0.008
    assert area * ideal_mass_flux(pressure, temperature, 1e5, 290.0, 1.33) == pytest.approx(expected, abs=6e-7)


def test_nothing_flows_without_a_pressure_difference() -> None:
    assert ideal_mass_flux(1e5, 300.0, 1e5) == 0.0


def test_bench_at_28_inches_passes_what_the_trade_says() -> None:
    # Flow-bench arithmetic: ideal gas, square root of the depression: 124.730 kg/m2/s, 103.586 m/s of upstream air,
    # 141.60 cfm a square inch; 147.13 incompressible.
    flux = ideal_mass_flux(101325.0, 293.15, 101325.0 - WATER_28)
    density = 101325.0 / (287.05 * 293.15)
    assert flux == pytest.approx(124.730, rel=5e-5)
    assert flux / density == pytest.approx(103.586, rel=5e-5)
    assert flux / density * INCH**2 / CFM == pytest.approx(141.60, rel=1e-4)
    incompressible = math.sqrt(2.0 * WATER_28 / density)
    assert incompressible == pytest.approx(107.631, rel=5e-5)
    assert incompressible * INCH**2 / CFM == pytest.approx(147.13, rel=1e-4)


@pytest.mark.parametrize(
    ("inches", "factor"),
    # Flow-bench arithmetic: ideal gas, square root of the depression: to 28 inches of water.
    [
        (3, 3.0551),
        (5, 2.3664),
        (7, 2.0),
        (10, 1.6733),
        (12, 1.5275),
        (15, 1.3663),
        (20, 1.1832),
        (25, 1.0583),
        (36, 0.8819),
        (48, 0.7638),
    ],
)
def test_flow_at_another_depression_goes_by_the_square_root(inches: float, factor: float) -> None:
    assert at_depression(1.0, inches, 28.0) == pytest.approx(factor, abs=6e-5)


def test_worked_conversions_of_flow_are_met() -> None:
    # Flow-bench arithmetic: ideal gas, square root of the depression: 200 @ 10 -> 334.66; 150 @ 25 -> 158.75; 250 @
    # 28 -> 149.40 @ 10.
    assert at_depression(200.0, 10.0, 28.0) == pytest.approx(334.66, abs=0.005)
    assert at_depression(150.0, 25.0, 28.0) == pytest.approx(158.75, abs=0.006)
    assert at_depression(250.0, 28.0, 10.0) == pytest.approx(149.40, abs=0.006)


def test_horsepower_of_flow_at_two_depressions_is_one_rule() -> None:
    # Arithmetic in exact units (NIST SP 811): 0.257 hp per cfm at 28 in, 0.43 at 10 in: 0.43/0.257 = sqrt(28/10).
    assert at_depression(0.257, 10.0, 28.0) == pytest.approx(0.43, rel=1e-3)


def test_coefficients_of_a_two_inch_valve_are_the_worked_ones() -> None:
    # Typical flow of a 2.02 in valve (trade practice, from memory): 63/125/182/225/248/256 cfm at 28 inches, 68 degF.
    curve = bench_curve(LIFTS, FLOWS, Bench(depression=WATER_28), VALVE)
    assert curve.lift_ratio == pytest.approx([0.050, 0.099, 0.149, 0.198, 0.248, 0.297], abs=6e-4)
    assert curve.coefficient == pytest.approx([0.7011, 0.6955, 0.6751, 0.6260, 0.5520, 0.4748], abs=1.5e-4)
    area = effective_area(curve, LIFTS, VALVE)
    assert area / head_area(VALVE) == pytest.approx([0.1388, 0.2754, 0.4011, 0.4958, 0.5465, 0.5641], abs=1.5e-4)


def test_area_of_a_bench_table_passes_the_flow_of_the_bench_again() -> None:
    bench = Bench(depression=2500.0, pressure=98e3, temperature=300.0)
    flows = 0.6 * np.array(FLOWS)
    area = effective_area(bench_curve(LIFTS, flows, bench, VALVE), LIFTS, VALVE)
    density = 98e3 / (287.05 * 300.0)
    flux = ideal_mass_flux(98e3, 300.0, 98e3 - 2500.0)
    assert area * flux / density == pytest.approx(flows, rel=1e-12)


def test_two_valves_that_flow_twice_as_much_have_the_same_coefficient() -> None:
    pair = ValveSize(count=2, head=VALVE.head, throat=VALVE.throat, stem=VALVE.stem)
    one = bench_curve(LIFTS, FLOWS, Bench(depression=WATER_28), VALVE)
    two = bench_curve(LIFTS, 2.0 * np.array(FLOWS), Bench(depression=WATER_28), pair)
    assert two.coefficient == pytest.approx(one.coefficient, rel=1e-12)
    assert effective_area(two, LIFTS, pair) == pytest.approx(2.0 * effective_area(one, LIFTS, VALVE), rel=1e-12)


def test_curtain_is_the_head_at_a_quarter_of_the_diameter() -> None:
    # Heywood 1988, appendix C.
    perfect = DischargeCurve(lift_ratio=np.array([0.1, 0.4]), coefficient=np.array([1.0, 1.0]), measured=True)
    assert effective_area(perfect, [0.25 * VALVE.head], VALVE)[0] == pytest.approx(head_area(VALVE), rel=1e-12)


def test_area_rises_with_lift_and_is_held_above_the_last_one_measured() -> None:
    curve = bench_curve(LIFTS, FLOWS, Bench(depression=WATER_28), VALVE)
    lifts = np.linspace(0.0, 0.8 * INCH, 400)
    area = effective_area(curve, lifts, VALVE)
    assert area[0] == 0.0
    assert np.all(np.diff(area) >= -1e-12)
    assert area[-1] == pytest.approx(effective_area(curve, LIFTS[-1:], VALVE)[0], rel=1e-12)
    # Below the first lift the coefficient is held, so the area is in proportion to the lift.
    low = effective_area(curve, [0.02 * INCH, 0.04 * INCH], VALVE)
    assert low[1] == pytest.approx(2.0 * low[0], rel=1e-12)


def test_usual_curve_is_limited_by_a_narrow_throat_and_a_measured_one_is_not() -> None:
    narrow = ValveSize(count=1, head=VALVE.head, throat=0.7 * VALVE.head, stem=VALVE.stem)
    high = [0.6 * INCH]
    assert effective_area(usual_curve(), high, narrow)[0] == pytest.approx(0.82 * narrow.throat_area, rel=1e-12)
    assert effective_area(usual_curve(), high, VALVE)[0] < 0.82 * VALVE.throat_area
    measured = bench_curve(LIFTS, FLOWS, Bench(depression=WATER_28), VALVE)
    assert effective_area(measured, high, narrow)[0] == pytest.approx(effective_area(measured, high, VALVE)[0])


def test_one_lift_is_a_table_too() -> None:
    curve = bench_curve(LIFTS[:1], FLOWS[:1], Bench(depression=WATER_28), VALVE)
    assert effective_area(curve, [0.05 * INCH], VALVE)[0] == pytest.approx(
        0.5 * effective_area(curve, LIFTS[:1], VALVE)[0]
    )


@pytest.mark.parametrize(
    ("lifts", "flows", "says"),
    [
        ([0.0, 1e-3], [1e-3, 2e-3], "rise from above zero"),
        ([2e-3, 1e-3], [1e-3, 2e-3], "rise from above zero"),
        ([1e-3, 2e-3], [0.0, 2e-3], "above zero"),
        ([1e-3, 2e-3], [1e-3], "as many flows as lifts"),
        ([1e-3], [math.nan], "as many flows as lifts"),
        ([2.54e-3], [0.06], "check the depression"),
    ],
)
def test_bench_table_that_cannot_be_is_refused(lifts: list[float], flows: list[float], says: str) -> None:
    with pytest.raises(OutOfRangeError, match=says):
        bench_curve(lifts, flows, Bench(depression=WATER_28), VALVE)
