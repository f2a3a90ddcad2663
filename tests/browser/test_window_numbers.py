"""Numbers of the rpm window: worked out and written by the scripts of the page as by the command."""

from __future__ import annotations

import json
import math
import random
from typing import TYPE_CHECKING, Final

import pytest
from browser.window_page import asked, compared

from pullbook.publish.figures import Measure, rounded, separated
from pullbook.publish.scatter import both_results
from pullbook.publish.tables import both_table, windows_table
from pullbook.publish.telling import Telling
from pullbook.publish.typeset import typeset
from pullbook.publish.window_data import window_data, window_data_with_all
from pullbook.quantities.rounding import digits
from pullbook.quantities.showing import UnitSystem
from pullbook.records.curve import Interval
from pullbook.web.assets import address

if TYPE_CHECKING:
    from collections.abc import Callable

    from browser.served import Served
    from browser.visit import Visit

pytestmark = [pytest.mark.browser, pytest.mark.slow]

IN_THE_PAGE: Final = """async ([format, cases]) => {
  const { digits, rounded, separated, stated, typeset } = await import(format);
  return cases.map(([value, low, high, half, decimals, factor, symbol, signed]) => {
    const number = (text) => text === "nan" ? NaN : Number(text);
    const interval = { value: number(value), low: number(low), high: number(high) };
    const told = stated({ symbol, factor }, interval, signed);
    return [told, typeset(`at ${told}, x`), digits(interval.value, decimals, signed),
      rounded(interval.value, number(half), signed), separated(digits(interval.value, decimals))];
  });
}"""
EVERY_WINDOW: Final = """async ([words, tables, data]) => {
  const { gainWords } = await import(words), { readWindows } = await import(tables);
  const read = readWindows(data), found = {};
  for (const system of ["metric", "us"]) for (const low of read.ends) for (const high of read.ends) {
    if (low >= high) continue;
    for (const { of, from, sign, gains } of gainWords(read, [low, high], system))
      found[`${system} ${of}-${from} ${low} ${high}`] = [gains.torque, gains.percent, gains.power, sign, gains.check];
  }
  return found;
}"""

BOTH_RESULTS: Final = """async ([words, tables, data, withAll]) => {
  const { gainStated } = await import(words), { readWindows } = await import(tables);
  const read = readWindows(data), kept = readWindows(withAll), found = {};
  for (const system of ["metric", "us"]) for (const low of kept.ends) for (const high of kept.ends) {
    if (low >= high) continue;
    kept.data.pairs.forEach(({ about }, number) => {
      const { torque } = kept.gains(number, low, high);
      found[`${system} ${about} ${low} ${high}`] = gainStated(read, "torque", system, torque);
    });
  }
  return found;
}"""


def test_many_windows_of_the_demo_say_the_digits_of_the_command(served: Served, visit: Callable[..., Visit]) -> None:
    page = visit(served, "/").page
    modules = [address(f"page/{name}.js") for name in ("window-words", "window-tables")]
    found = page.evaluate(EVERY_WINDOW, [*modules, json.loads(window_data(compared()))])
    expected = {}
    for system in UnitSystem:
        table = windows_table(Telling(result=asked(), system=system))
        assert table is not None
        gains = [(one, window) for one in asked().findings.differences for window in one.windows]
        for (one, window), row in zip(gains, table.rows, strict=True):
            where = f"{system} {one.of}-{one.from_} {window.from_rpm:.0f} {window.to_rpm:.0f}"
            expected[where] = [typeset(str(cell)) for cell in row[2:]]
    assert (len(found), len(expected)) == (2 * 4 * 1176, 2 * 4 * (len(asked().findings.differences[0].windows)))
    assert {where: (found[where], told) for where, told in expected.items() if found[where] != told} == {}


def test_with_every_pull_kept_they_say_the_digits_of_the_command_too(
    served: Served, visit: Callable[..., Visit]
) -> None:
    page = visit(served, "/").page
    modules = [address(f"page/{name}.js") for name in ("window-words", "window-tables")]
    data = [json.loads(make(compared())) for make in (window_data, window_data_with_all)]
    found = page.evaluate(BOTH_RESULTS, [*modules, *data])
    expected = {}
    for system in UnitSystem:
        telling = Telling(result=asked(), system=system)
        table = both_table(telling)
        assert table is not None
        for (one, window, _), row in zip(both_results(telling), table.rows, strict=True):
            where = f"{system} {one.of}-{one.from_} {window.from_rpm:.0f} {window.to_rpm:.0f}"
            expected[where] = typeset(row[3])
    assert len(expected) > 900
    assert {where: (found.get(where), told) for where, told in expected.items() if found.get(where) != told} == {}


def test_numbers_are_written_by_the_script_as_by_the_sentences(served: Served, visit: Callable[..., Visit]) -> None:
    generator = random.Random(20261127)  # noqa: S311 - cases of a test
    cases, expected = [], []
    for _ in range(6000):
        value = _any_number(generator)
        half, other = abs(_any_number(generator)), abs(_any_number(generator))
        low, high = value - half, value + (half if generator.random() < 0.7 else other)
        if generator.random() < 0.1:
            low = high = math.nan
        decimals, signed = generator.randint(-3, 6), generator.random() < 0.5
        measure = Measure(symbol=generator.choice(["N m", "kW", "%", "lb ft", "hp"]),
                          factor=generator.choice([1.0, 1000.0, 1.3558179483314003, 745.6998715822702]))  # fmt: skip
        told = measure.stated(Interval(value=value, low=low, high=high), signed=signed)
        expected.append([told, typeset(f"at {told}, x"), digits(value, decimals, signed=signed),
                         rounded(value, half, signed=signed), separated(digits(value, decimals))])  # fmt: skip
        texts = [repr(number) for number in (value, low, high, half)]
        cases.append([*texts, decimals, measure.factor, measure.symbol, signed])
    found = visit(served, "/").page.evaluate(IN_THE_PAGE, [address("page/format.js"), cases])
    assert [(case, got, want) for case, got, want in zip(cases, found, expected, strict=True) if got != want] == []


def _any_number(generator: random.Random) -> float:
    kind = generator.random()
    if kind < 0.15:
        return generator.randint(-20000, 20000) / generator.choice([1, 2, 4, 8, 10, 100, 1000])
    if kind < 0.2:
        return generator.choice([0.0, -0.0, 0.5, 9.95, 99.5, 0.995, 2.675, 1e15, 1e22, 1e-7, 999.9999999999999, 1000.0])
    return float(generator.choice([-1, 1]) * 10.0 ** generator.uniform(-9.0, 9.0))
