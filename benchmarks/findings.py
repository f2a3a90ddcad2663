"""How long the findings of 8 builds x 3 pulls take: 4,000 joint draws with drift and bolt-ups, after imports.

Run it with `python benchmarks/findings.py`; one core is used.
"""

from __future__ import annotations

import os
import statistics
import sys
import time
from pathlib import Path
from typing import TYPE_CHECKING

for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ[name] = "1"  # before numpy is imported
sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "tests"))

import numpy as np  # noqa: E402 - as above
from noise_model import BENCH, simulate  # noqa: E402 - as above

from pullbook.compare.findings import compare_pulls  # noqa: E402 - as above
from pullbook.compare.joint import draw_jointly  # noqa: E402 - as above

if TYPE_CHECKING:
    from collections.abc import Callable

    from pullbook.records.comparison import Comparison

ORDER = "AAABBBCCCDDDEEEFFFGGGHHH"
TIMES = 11


def median_time(work: Callable[[Comparison], object], comparison: Comparison) -> float:
    """Median wall time, in seconds, after one run that imports what is imported late."""
    work(comparison)
    taken = []
    for _ in range(TIMES):
        start = time.perf_counter()
        work(comparison)
        taken.append(time.perf_counter() - start)
    return statistics.median(taken)


def main() -> None:
    """Print the figures beside their limits."""
    comparison = simulate(ORDER, BENCH, np.random.default_rng(1)).comparison
    for what, work, limit in (
        ("joint draws of 8 builds x 3 pulls, 4,000 of them", draw_jointly, 0.25),
        ("findings of 8 builds x 3 pulls", compare_pulls, 0.4),
    ):
        value = median_time(work, comparison)
        print(f"{what:58}{value:9.2f} s    limit {limit:g} s  {'kept' if value < limit else 'NOT KEPT'}", flush=True)


if __name__ == "__main__":
    main()
