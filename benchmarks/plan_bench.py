"""How long a plan takes: 8 builds of three factors under 5 s, 20 builds of three factors at three levels under 60 s."""

from __future__ import annotations

import sys
import tempfile
import time
from itertools import product
from pathlib import Path

from pullbook.app.plan_session import PlanWords, plan_session
from pullbook.app.ports import Silent

LIMITS = {8: 5.0, 20: 60.0}
HEAD = """\
[session]
title = "{count} builds"
standard = "SAE J1349"
rpm = "2000..6500 rpm"
"""
FACTOR = """
[[factor]]
name = "{name}"
levels = {levels}
change = "{minutes} min"
"""
BUILD = """
[[build]]
name = "B{number}"
baseline = {first}
levels = {{ cam = "{cell[0]}", runners = "{cell[1]}", header = "{cell[2]}" }}
"""


def session_text(count: int, levels: int) -> str:
    """Session of the first builds of a factorial of camshaft, runners and header."""
    words = [str(level) for level in range(levels)]
    text = HEAD.format(count=count)
    for name, minutes in (("cam", 150), ("runners", 50), ("header", 40)):
        text += FACTOR.format(name=name, levels=str(words).replace("'", '"'), minutes=minutes)
    for number, cell in enumerate(list(product(words, repeat=3))[:count]):
        text += BUILD.format(number=number, first=str(number == 0).lower(), cell=cell)
    return text


def seconds_for(count: int, levels: int, within: str) -> tuple[float, float, str]:
    """Time on the clock and on the processor, and what came out."""
    with tempfile.TemporaryDirectory() as folder:
        (Path(folder) / "session.toml").write_text(session_text(count, levels), encoding="utf-8")
        clock, processor = time.perf_counter(), time.process_time()
        plan = plan_session(Path(folder), PlanWords(resolve="2.5 %", within=within), Silent()).plan
        offers = "; ".join(f"{one.name} {one.seconds / 3600:.1f} h {100 * one.odds:.0f} %" for one in plan.offers)
        return time.perf_counter() - clock, time.process_time() - processor, offers


def main() -> int:
    """Print the figures; 1 where a limit is passed."""
    late = 0
    for count, levels, within in ((8, 2, "2 days"), (20, 3, "7 days")):
        clock, processor, offers = seconds_for(count, levels, within)
        late += clock > LIMITS[count]
        print(f"plan for {count} builds: {clock:.1f} s, limit {LIMITS[count]:.0f} s; {processor:.1f} s of processor")
        print(f"    {offers}")
    return int(late > 0)


if __name__ == "__main__":
    sys.exit(main())
