"""How fast text files are read beside polars' plain `read_csv`, and how much memory a log of 500 MB takes.

Run it with `python benchmarks/reading.py`; one core is used for both.
"""

from __future__ import annotations

import mmap
import os
import resource
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from pullbook.capture.reader import read_tables

if TYPE_CHECKING:
    from collections.abc import Callable

FILES = 1000
ROWS = 400
COLUMNS = 20
LARGE = 500_000_000
DISTINCT = 20  # different contents, so that no cache of a parser helps


def pull_like_files() -> list[bytes]:
    """Texts of 400 rows x 20 columns with a header, as a logger writes them."""
    rng = np.random.default_rng(400)
    header = "Time (sec),Engine Speed (rpm),Torque (Nm)," + ",".join(f"Analog #{i} (V)" for i in range(COLUMNS - 3))
    files: list[bytes] = []
    for _ in range(DISTINCT):
        numbers = rng.normal(3000.0, 500.0, (ROWS, COLUMNS)).round(2)
        lines = [header, *(",".join(map(repr, row)) for row in numbers.tolist())]
        files.append(("\r\n".join(lines) + "\r\n").encode())
    return files


def _seconds(read: Callable[[bytes], object], files: list[bytes], count: int) -> float:
    start = time.perf_counter()
    for index in range(count):
        read(files[index % len(files)])
    return time.perf_counter() - start


def reading_ratio(files: int = FILES, rounds: int = 5) -> float:
    """Time for 1,000 files of 400 rows x 20 columns over the time of polars' `read_csv`; the median of rounds. [1]."""
    os.environ["POLARS_MAX_THREADS"] = "1"  # has to stand before the import
    import polars as pl

    texts = pull_like_files()
    _seconds(lambda text: read_tables(text, "a.csv"), texts, 20)
    _seconds(pl.read_csv, texts, 20)
    ours: list[float] = []
    theirs: list[float] = []
    for _ in range(rounds):
        ours.append(_seconds(lambda text: read_tables(text, "a.csv"), texts, files // rounds))
        theirs.append(_seconds(pl.read_csv, texts, files // rounds))
    ratio = statistics.median(a / b for a, b in zip(ours, theirs, strict=True))
    each = files // rounds
    print(
        f"{files} text files of {ROWS} x {COLUMNS}: {statistics.median(ours) / each * 1e3:.2f} ms a file, polars "
        f"{statistics.median(theirs) / each * 1e3:.2f} ms, ratio {ratio:.2f} (allowed 3)"
    )
    return ratio


def write_large_log(path: Path, size: int = LARGE) -> None:
    """A log of the given size in bytes."""
    rng = np.random.default_rng(500)
    numbers = rng.normal(3000.0, 500.0, (5000, COLUMNS)).round(2)
    block = ("\n".join(",".join(map(repr, row)) for row in numbers.tolist()) + "\n").encode()
    with path.open("wb") as file:
        file.write((",".join(f"Channel {i} (V)" for i in range(COLUMNS)) + "\n").encode())
        for _ in range(size // len(block) + 1):
            file.write(block)


def peak_memory_of(path: Path) -> tuple[float, float, int]:
    """Peak memory in bytes, time in seconds and rows of reading one mapped file in this process."""
    start = time.perf_counter()
    with path.open("rb") as file, mmap.mmap(file.fileno(), 0, access=mmap.ACCESS_READ) as mapped:
        view = memoryview(mapped)
        contents = read_tables(view, path.name)
        view.release()
    took = time.perf_counter() - start
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024.0
    return peak, took, sum(len(table.rows) for table in contents.tables)


def memory_of_large_log(size: int = LARGE) -> float:
    """Peak memory of a process that reads a log of 500 MB, mapped pages included. [byte]."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "log.csv"
        write_large_log(path, size)
        code = f"import sys; sys.path.insert(0, {str(Path(__file__).parent)!r}); import pathlib, reading; "
        code += f"print(*reading.peak_memory_of(pathlib.Path({str(path)!r})))"
        done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
        peak, took, rows = (float(word) for word in done.stdout.split())
        print(
            f"log of {path.stat().st_size / 1e6:.0f} MB, {rows:.0f} rows: peak memory {peak / 1e9:.2f} GB "
            f"(allowed 1.5), {took:.1f} s"
        )
    return peak


if __name__ == "__main__":
    reading_ratio()
    memory_of_large_log()
