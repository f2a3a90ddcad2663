"""What the compiler of the kernels promises: parts and doors give the same numbers, and a first run is told."""

from __future__ import annotations

import gc
import os
import subprocess
import sys
from typing import TYPE_CHECKING

import numpy as np
import pytest

from pullbook.gas.compiled import inner_kernel, kernel, row_kernel

if TYPE_CHECKING:
    from pathlib import Path

    from pullbook.quantities.arrays import FloatArray


@kernel
def half(x: float) -> float:
    """Half of a number, called from here and from the kernels below."""
    return 0.5 * x


@inner_kernel
def halves(x: FloatArray, out: FloatArray) -> None:
    """Halves of numbers, for kernels only."""
    for i in range(len(x)):
        out[i] = half(x[i])


@row_kernel
def quarters(x: FloatArray, out: FloatArray) -> None:
    """Quarters of numbers."""
    halves(x, out)
    for i in range(len(x)):
        out[i] = half(out[i])


def test_a_kernel_is_both_called_from_python_and_a_part_of_others() -> None:
    out = np.zeros(5)
    quarters(np.arange(5.0), out)  # its part is compiled before its own door
    assert half(3.0) == 1.5
    assert out.tolist() == [0.0, 0.25, 0.5, 0.75, 1.0]


def test_a_part_cannot_be_called_by_itself() -> None:
    with pytest.raises(TypeError, match="halves is a part of other kernels"):
        halves(np.zeros(1), np.zeros(1))


def test_garbage_is_collected_again_after_compiling() -> None:
    assert gc.isenabled()
    half(True)  # noqa: FBT003 - a type that it has not been compiled for
    assert gc.isenabled()


def test_machine_code_that_nobody_uses_is_deleted_and_that_of_other_versions_is_not(tmp_path: Path) -> None:
    old, beside = tmp_path / "pullbook" / "kernels-old", tmp_path / "pullbook" / "kernels-beside"
    for folder, days in ((old, 40), (beside, 20)):
        folder.mkdir(parents=True)
        now = folder.stat().st_mtime
        os.utime(folder, (now - 86400 * days, now - 86400 * days))
    environment = {name: value for name, value in os.environ.items() if name != "NUMBA_CACHE_DIR"}
    environment |= {"XDG_CACHE_HOME": str(tmp_path), "LOCALAPPDATA": str(tmp_path)}
    subprocess.run([sys.executable, "-c", "import pullbook.gas.compiled"], env=environment, check=True)
    if sys.platform != "darwin":
        assert not old.exists()
        assert beside.exists()


def test_it_is_known_whether_a_kernel_has_been_compiled_before(tmp_path: Path) -> None:
    code = (
        "from pullbook.gas.compiled import is_compiled; from pullbook.gas.powers import power_near_one;"
        "from pullbook.gas.end_waves import wall_pressure; print(is_compiled(power_near_one));"
        "power_near_one(0.1, 2.0); print(is_compiled(power_near_one), is_compiled(wall_pressure))"
    )
    environment = {**os.environ, "NUMBA_CACHE_DIR": str(tmp_path)}
    said = subprocess.run([sys.executable, "-c", code], env=environment, check=True, capture_output=True, text=True)
    assert said.stdout.split() == ["False", "True", "False"]
