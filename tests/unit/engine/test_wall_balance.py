"""Walls that follow their heat settle, also where the gas has nearly their temperature and all of them move at once."""

from __future__ import annotations

import numpy as np
import pytest

from pullbook.engine.assemble import assemble
from pullbook.engine.engine_file import parse_engine
from pullbook.engine.layouts import build_network
from pullbook.engine.simulate import operating_of
from pullbook.engine.wall_balance import WallBalance
from pullbook.gas.grid import AREA, EXCHANGE, INVERSE_LENGTH, VOLUME, WALL_TEMPERATURE

AIR = 300.0  # K
OUTER = 40.0  # W/(m2 K), of the engine file


@pytest.mark.parametrize("film", [20.0, 100.0, 300.0])
@pytest.mark.parametrize("capacity", [2.0, 10.0, 50.0])
def test_walls_along_a_stream_that_cools_settle(film: float, capacity: float) -> None:
    text = '[engine]\ncylinders = 1\n[[header]]\nprimary = { length = "1600 mm" }\n[walls]\nbalance = true\n'
    spec = parse_engine(text)
    network = build_network(spec)
    pipes = assemble(network, operating_of(spec, 2000.0), 0.02).arrays.pipes
    number = int(np.argmax(np.diff(pipes.start) * [pipe.side.name == "EXHAUST" for pipe in network.pipes]))
    cells = np.arange(pipes.start[number] + 1, pipes.start[number + 1] - 1)
    surface = np.sqrt(4.0 * np.pi * pipes.geometry[AREA, cells]) / pipes.geometry[INVERSE_LENGTH, cells]
    gas_capacity = pipes.primitive[2, cells] / ((pipes.primitive[3, cells] - 1.0) * pipes.temperature[cells])
    pipes.work[EXCHANGE, cells] = film * surface / (gas_capacity * pipes.geometry[VOLUME, cells])
    walls = WallBalance(network, pipes)
    first = pipes.geometry[WALL_TEMPERATURE, cells].copy()
    lost, stride = np.zeros(cells.size), np.inf
    for _ in range(35):
        pipes.wall_heat[:] = 0.0
        gas = 1100.0
        for i, face in zip(cells, surface, strict=True):
            # A stream that gives its heat to one cell after the other; its warmth is lost downstream.
            share = 1.0 - np.exp(-film * face / capacity)
            heat = capacity * share * (gas - pipes.geometry[WALL_TEMPERATURE, i])
            gas -= heat / capacity
            pipes.wall_heat[i] = -heat
        before = pipes.geometry[WALL_TEMPERATURE, cells].copy()
        lost = -pipes.wall_heat[cells] - OUTER * surface * (before - AIR)
        walls.follow(pipes, AIR, 1.0)
        stride = float(np.abs(pipes.geometry[WALL_TEMPERATURE, cells] - before).max())
    assert stride < 1.0
    # The port's wall is water-cooled and stays as it is.
    follows = pipes.geometry[WALL_TEMPERATURE, cells] != first
    assert follows.sum() > 40
    assert np.abs(lost / (OUTER * surface))[follows].max() < 10.0
