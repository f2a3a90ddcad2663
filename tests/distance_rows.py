"""The rows of the table of ``distance_study.py``: check, source, what is wanted, and where it is measured."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping


@dataclass(frozen=True, slots=True)
class Row:
    """One line of the table; measured by the comparisons of tests, or by a function."""

    check: str
    source: str
    wanted: str
    tests: tuple[str, ...] = ()
    at: tuple[int, ...] = ()  # which comparisons of a test count, in their order; all if empty
    unit: str = ""  # absolute in this unit; relative if empty
    measure: Callable[[], str] | None = None

    def read(self, departures: Mapping[str, dict[int, tuple[float, float]]]) -> str:
        """The largest departure that the tests have seen."""
        chosen: list[tuple[float, float]] = []
        for test in self.tests:
            found = departures[test]
            lines = sorted(found)
            chosen += [found[lines[k]] for k in self.at] if self.at else list(found.values())
        if self.unit:
            return f"{max(one[1] for one in chosen):.1g}{'' if self.unit == '°' else ' '}{self.unit}"
        return shown(max(one[0] for one in chosen))


def shown(part: float) -> str:
    """A relative departure, in per cent where one reads it so."""
    if part < 1e-14:
        return "round-off"
    return f"{part:.0e}".replace("e-0", "e-") if part < 1e-5 else f"{100.0 * part:.2g} %"


def riemann() -> str:
    """Largest departure of a star state from its table."""
    from unit.gas.test_riemann import PROBLEMS

    from pullbook.gas.riemann import riemann_star

    gaps = [
        np.abs(np.array(riemann_star((*left, 1.4), (*right, 1.4))) - star).max()
        for left, right, star in PROBLEMS.values()
    ]
    return f"{max(gaps):.0e}"


def tubes() -> str:
    """Largest mean error of the density of a shock tube over its largest value."""
    from unit.gas.test_pipes_shocks import TUBES, exact, tube

    worst = 0.0
    for left, right, where, until, _, _ in TUBES.values():
        answer = exact(left, right, where, until, 200)[0]
        gap = np.abs(tube(left, right, where, until, 200)[0] - answer).mean()
        worst = max(worst, float(gap / answer.max()))
    return shown(worst)


def pyclaw(case: str) -> Callable[[], str]:
    """Mean difference of the density from PyClaw's."""

    def measure() -> str:
        from unit.gas.test_pyclaw import gaps

        found = gaps(case)[:, 0]
        return f"{found[0]:.1e} at 200 cells, {found[-1]:.1e} at 1600"

    return measure


def order() -> str:
    """Least order of convergence."""
    from unit.gas.test_pipes_waves import orders

    return f"{orders().min():.2f}"


def standing() -> str:
    """Standing wave after ten periods."""
    from unit.gas.test_pipes_waves import standing_wave

    amplitude, phase = standing_wave(50, 10)
    return f"{amplitude:.5f}; {abs(phase):.1g}° a period"


def join(bar: float) -> Callable[[], str]:
    """Parts of a pulse at a 4-into-1 join with mixing jets."""

    def measure() -> str:
        from unit.gas.test_joins_in_pipes import parts

        from pullbook.gas.join_mixing import JOIN_MIXING

        back, on = parts("four into one", JOIN_MIXING, bar)
        return f"{back:+.3f}, {on[0]:+.3f}, {on[-1]:+.3f}"

    return measure


def grid(name: str) -> Callable[[], str]:
    """Departure of torque at 5500 rpm from that of the finest cells."""

    def measure() -> str:
        from unit.engine.test_grid_and_cycles import FINEST, torque

        finest = torque(name, FINEST)
        return ", ".join(f"{100.0 * (torque(name, cell) / finest - 1.0):+.2f} %" for cell in (0.03, 0.02, 0.01))

    return measure


def settled() -> str:
    """What ten more cycles change, over all three engines and three speeds."""
    from engines import run
    from unit.engine.test_grid_and_cycles import SHIPPED, ten_cycles_more

    work = trapped = residual = 0.0
    for name in SHIPPED:
        for speed in (2500.0, 4000.0, 6000.0):
            for one, other in zip(run(name, speed)[0].cylinders, ten_cycles_more(name, speed).cylinders, strict=True):
                work = max(work, abs(one.imep_net / other.imep_net - 1.0))
                trapped = max(trapped, abs(one.trapped_mass / other.trapped_mass - 1.0))
                residual = max(residual, abs(one.residual - other.residual))
    return f"{100 * work:.2f} %, {100 * trapped:.2f} %, {100 * residual:.2f} points"


def balances() -> str:
    """Largest errors of mass and energy over the three engines."""
    from engines import run
    from unit.engine.test_grid_and_cycles import SHIPPED

    each = [run(name, speed)[0].quality for name in SHIPPED for speed in (2500.0, 4000.0, 6000.0)]
    return f"{max(one.mass_error for one in each):.0e}, {max(one.energy_error for one in each):.0e}"


def cards() -> str:
    """Largest departure of an event of the cam cards of the test."""
    from unit.engine.test_cam_card import test_events_follow_from_durations_and_centrelines as test

    from pullbook.engine.cam_card import CamCard

    worst = 0.0
    for intake, exhaust, separation, centreline, wanted in test.pytestmark[0].args[1]:  # type: ignore[attr-defined]  # pytest's
        card = CamCard(
            intake_duration_deg=intake,
            exhaust_duration_deg=exhaust,
            separation_deg=separation,
            intake_centreline_deg=centreline,
        )
        events = card.intake_opens_deg, card.intake_closes_deg, card.exhaust_opens_deg, card.exhaust_closes_deg
        worst = max(worst, float(np.abs(np.subtract(events, wanted[1:5])).max()))
    return f"{worst:.1g}°"


TORO: Final = "Toro 2009, table 4.3; all digits solved anew"
SHAPIRO: Final = "Shapiro, tables B.2, B.3 (from memory)"
NACA: Final = "NACA report 1135"
CLAW: Final = "PyClaw 5.14, 6400 cells"
JET: Final = "departs: stiffer gas, head of the jet"

# fmt: off
ROWS: Final = (
    Row("Riemann problems: 8 star states", TORO, "six digits", measure=riemann),
    Row("the same as shock tubes, 200 cells: mean error", TORO, "falls with the cells", measure=tubes),
    Row("Sod's tube: mean difference of density", CLAW, "falls with the cells", measure=pyclaw("Sod")),
    Row("pulse of 5 % through two tapers", CLAW, "falls with the cells", measure=pyclaw("small pulse")),
    Row("pulse of 60 % through two tapers, breaking", CLAW, "falls with the cells", measure=pyclaw("large pulse")),
    Row("order of convergence, smooth wave", "Riemann 1860, exact", "1.9", measure=order),
    Row("standing wave, 50 cells, 10 periods", "period 2L/a", "amplitude 1, phase 0", measure=standing),
    Row("quarter wave with three end corrections", "Levine and Schwinger 1948", "0.1 %",
        ("test_pipe_with_one_open_end_sounds_at_its_quarter_wave",), (0,)),
    Row("front of a wave, up to three quarters of the way to breaking", "Riemann 1860, exact", "0.8 %",
        ("test_front_of_a_wave_steepens_until_it_breaks",)),
    Row("waves of -50 to +50 %: pressure, speed", "Bannister and Mucklow 1948 (from memory)", "0.1 %",
        ("test_wave_of_finite_amplitude_runs_one_way_at_its_own_speed",), (0, 1)),
    Row("two waves that meet: pressure", "Xs = X1 + X2 - 1", "0.1 %",
        ("test_opposed_waves_superpose_as_their_invariants_say",), (0,)),
    Row("wave of 20 or 50 % at a wall", "Xs = 2X - 1", "0.1 %",
        ("test_wave_of_finite_amplitude_is_doubled_by_a_wall",)),
    Row("reflection at area ratios 0.25 to 4", "Rayleigh, Theory of Sound, § 264", "2 %",
        ("test_long_pulse_at_a_short_taper_is_reflected_as_at_a_step",)),
    Row("closed, open, silent end", "+1, -1, 0", "2 %",
        ("test_small_pulse_comes_back_as_the_kind_of_end_has_it",), (), "of the pulse"),
    Row("three-way, five-way, 4-into-1 join, 0.01 bar", "linear acoustics", "2 %",
        ("test_a_hundredth_of_a_bar_is_reflected_and_passed_on_within_a_hundredth",)),
    Row("the same at 0.01, 0.3, 0.6 bar", "equations of the join, nested bisection", "0.002",
        ("test_pressures_beside_the_join_are_those_of_the_equations",), (), "of the pulse"),
    Row("4-into-1, 0.01 bar: back, idle primary, collector", "linear acoustics", "-0.75, +0.25, +0.25",
        measure=join(0.01)),
    Row("4-into-1, 0.3 bar", JET, "explained", measure=join(0.3)),
    Row("4-into-1, 0.6 bar", JET, "explained", measure=join(0.6)),
    Row("steady nozzle 40-32-40 mm, cells of 20 and 10 mm", NACA, "0.5 %",
        ("test_steady_flow_through_tapers_is_exact",)),
    Row("the same, choked, cells of 20 mm", NACA, "0.5 %", ("test_choked_throat_passes_what_the_table_says",)),
    Row("isentropic flow, Mach 0.1 to 0.8", NACA, "five digits",
        ("test_subsonic_flow_has_every_row_of_the_isentropic_table",), (), "of stagnation"),
    Row("through a throat to Mach 3", NACA, "0.5 %",
        ("test_flow_through_a_throat_has_the_supersonic_rows_of_the_isentropic_table",)),
    Row("standing shocks, Mach 1.05 to 3", NACA, "five digits",
        ("test_shock_standing_in_a_pipe_stands_and_jumps_as_tabulated",)),
    Row("diaphragms of 2:1 and of hot gas 4:1, 400 cells: between the waves", "exact solver", "0.1 %",
        ("test_diaphragm_of_an_engine_bursts_in_a_pipe_as_tabulated",)),
    Row("shock in a nozzle, cells of 20 mm: what is behind it", NACA, "1 %",
        ("test_shock_stands_in_a_widening_nozzle_where_the_tables_have_it",), (2, 3, 4)),
    Row("Fanno flow, Mach 0.1 to 0.8", SHAPIRO, "0.5 %", ("test_friction_leads_from_row_to_row_of_fannos_table",)),
    Row("Fanno flow, Mach 3 to 2", SHAPIRO, "0.5 %",
        ("test_friction_slows_supersonic_flow_from_row_to_row_of_fannos_table",)),
    Row("Rayleigh flow, Mach 0.2 to 0.8", SHAPIRO, "0.5 %",
        ("test_heat_leads_from_row_to_row_of_rayleighs_table",), (0, 1)),
    Row("Rayleigh flow, Mach 3 to 2", SHAPIRO, "0.5 %",
        ("test_heat_slows_supersonic_flow_from_row_to_row_of_rayleighs_table",)),
    Row("friction factor, 4e3 < Re < 4e5", "Colebrook, iterated", "8 %", ("test_friction_factor_is_near_colebrooks",)),
    Row("expansion chambers, largest loss", "Munjal 1987 (from memory)", "0.1 dB",
        ("test_expansion_chamber_has_the_transmission_loss_of_the_formula",), (1,), "dB"),
    Row("orifice, intake and exhaust valve, 8 flows", "Heywood, app. C (from memory)", "six digits",
        ("test_intake_valve_passes_the_published_flow", "test_exhaust_valve_passes_the_published_flow")),
    Row("flow bench at 28 inH2O", "arithmetic", "five digits", ("test_bench_at_28_inches_passes_what_the_trade_says",)),
    Row("cam cards, 5 of them", "geometry", "exact", measure=cards),
    Row("compression 10:1, gamma 1.3 and 1.4", "isentropic, exact", "0.2 %",
        ("test_expansion_without_heat_is_isentropic_and_gives_the_work_of_compression_back",), (0, 1, 2)),
    Row("expansion of hot air 10:1", "Cantera", "0.3 %", ("test_expansion_of_hot_air_agrees_with_cantera",)),
    Row("Otto efficiency, 8:1 to 13:1", "1 - r^(1 - gamma)", "0.2 %",
        ("test_heat_at_top_dead_centre_gives_the_otto_efficiency",)),
    Row("dual, Diesel and Otto cycle", "Heywood 1988, § 5.5 (from memory)", "0.2 %",
        ("test_ideal_cycle_has_the_efficiency_of_its_formula",)),
    Row("Wiebe function", "Heywood 9.27 (from memory)", "five digits",
        ("test_wiebe_function_has_the_published_values",)),
    Row("Woschni, burning", "Heywood 12.17 to 12.19 (from memory)", "four digits",
        ("test_woschni_while_burning_has_the_worked_speed_and_value",)),
    Row("Hohenberg", "1979 (from memory)", "six digits", ("test_hohenberg_has_the_worked_values",)),
    Row("Annand", "1963 (from memory)", "0.1 %", ("test_annand_has_the_worked_value",)),
    Row("friction: Barnes-Moss, Chen-Flynn", "Heywood 13.6; SAE 650733 (from memory)", "exact",
        ("test_barnes_moss_has_the_published_values", "test_chen_flynn_has_the_worked_values")),
    Row("friction: components of a 2-litre four", "evaluated apart, coefficients from memory", "15 %",
        ("test_component_model_of_a_two_litre_four_is_near_an_independent_evaluation",)),
    Row("cp, gamma, sound speed, enthalpy, 250 to 2800 K", "Cantera", "0.3 %",
        ("test_mixtures_have_the_properties_of_cantera",)),
    Row("equilibrium: heat capacity, isentropic exponent", "Cantera", "0.5 %",
        ("test_heat_capacity_and_speed_of_sound_contain_the_shift_of_the_equilibrium",)),
    Row("dissociating: temperature, energy, gas constant, cv, sound speed", "own equilibrium", "0.5 %",
        ("test_the_cylinders_table_is_the_equilibrium_between_its_nodes_too",)),
    Row("burning at constant volume, 12 charges", "Cantera", "0.5 %",
        ("test_charge_burned_at_constant_volume_is_as_hot_as_equilibrium_says",)),
    Row("blow-down pulse in the wave map, three engines, 3000 rpm", "characteristic through the computed flow", "1°",
        ("test_the_blow_down_pulse_arrives_with_the_characteristic_within_a_degree",), (), "°"),
    Row("single, 5500 rpm: torque with cells of 30, 20, 10 mm", "cells of 6.7 mm", "at rest", measure=grid("single")),
    Row("inline four, the same", "cells of 6.7 mm", "at rest", measure=grid("inline-four")),
    Row("cross-plane V8, the same", "cells of 6.7 mm", "at rest", measure=grid("v8-cross-plane")),
    Row("all three, 2500 to 6000 rpm: work, trapped mass, residual of a cylinder", "ten cycles more", "at rest",
        measure=settled),
    Row("all three: mass, energy over a cycle", "what the engine holds", "1e-12", measure=balances),
)
# fmt: on
