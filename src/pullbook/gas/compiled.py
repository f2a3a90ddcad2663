"""The compiler of the kernels; the only module that imports numba.

The compiler keeps what it made in a folder of the user's cache. It looks at the file of a kernel to see whether that
has changed, but not at the files of the kernels that it calls; so the folder is named by all of them, and older
folders are deleted.
"""

from __future__ import annotations

import hashlib
import os
import shutil
import sys
import tempfile
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import numba
from numba.core.compiler import Compiler

if TYPE_CHECKING:
    from collections.abc import Callable

__all__ = ["inline_kernel", "inner_kernel", "inner_network_kernel", "kernel", "network_kernel", "row_kernel"]

_Kernel = TypeVar("_Kernel", bound="Callable[..., Any]")

# What the compiler may do with floating-point numbers: fuse a product with a sum, forget the sign of zero, multiply by
# a reciprocal. It may not assume that there is no NaN, since a run that goes wrong must be caught.
_LICENCE = {"contract", "nsz", "arcp"}


def _caches() -> Path:
    """Folder where programs of this user keep what can be made again."""
    home = Path.home()
    if sys.platform == "win32":
        return Path(os.environ.get("LOCALAPPDATA", home / "AppData" / "Local"))
    if sys.platform == "darwin":
        return home / "Library" / "Caches"
    return Path(os.environ.get("XDG_CACHE_HOME", home / ".cache"))


def _sources() -> str:
    """Digest of all kernels."""
    digest = hashlib.sha256()
    for path in sorted(Path(__file__).parent.glob("*.py")):
        digest.update(path.name.encode() + b"\0" + path.read_bytes())
    return digest.hexdigest()[:16]


def _folder() -> Path:
    """Folder of the compiled kernels; made, and older ones deleted."""
    parent = _caches() / "pullbook"
    folder = parent / f"kernels-{_sources()}"
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError:
        return Path(tempfile.gettempdir()) / "pullbook" / folder.name
    for other in parent.glob("kernels-*"):
        # A run that still uses an old folder has loaded what it needs, or compiles again.
        if other != folder:
            shutil.rmtree(other, ignore_errors=True)
    return folder


if "NUMBA_CACHE_DIR" not in os.environ:
    # Asked for when the first kernel is made, which is after this.
    os.environ["NUMBA_CACHE_DIR"] = str(_folder())
    _settings: Any = import_module("numba.core.config")
    _settings.reload_config()


# The published types of numba leave out some of its options.
_njit: Any = numba.njit


def kernel(function: _Kernel) -> _Kernel:
    """Compile a function for the types it is first called with, and keep it for the next start."""
    # Nobody calls a kernel from C: one door less to compile.
    compile_: Any = _njit(cache=True, error_model="numpy", nogil=True, fastmath=_LICENCE, no_cfunc_wrapper=True)
    compiled: _Kernel = compile_(function)
    return compiled


def inline_kernel(function: _Kernel) -> _Kernel:
    """Compile a small function into each of its callers."""
    compile_: Any = _njit(error_model="numpy", fastmath=_LICENCE, inline="always")
    compiled: _Kernel = compile_(function)
    return compiled


class _SeparateRows(Compiler):
    """Compiler that is told that no two arrays of the arguments share memory with one that is written."""

    def define_pipelines(self) -> Any:  # noqa: ANN401  # numba ships no types
        self.state.flags.noalias = True
        passes: Any = super()
        return passes.define_pipelines()


def network_kernel(function: _Kernel) -> _Kernel:
    """Compile a function that hands a whole network of arrays to others.

    A network is a tuple of many arrays, and the compiler would count a reference to each of them at every call. Without
    the runtime of memory it counts none, and nothing can be allocated inside.
    """
    return _on_networks(function, no_cfunc_wrapper=True)


def inner_network_kernel(function: _Kernel) -> _Kernel:
    """Compile the same, but to be called by other kernels only: no door to Python has to be compiled."""
    return _on_networks(function, no_cpython_wrapper=True, no_cfunc_wrapper=True)


def _on_networks(function: _Kernel, **doors: bool) -> _Kernel:
    options: dict[str, Any] = {"cache": True, "error_model": "numpy", "nogil": True, "fastmath": _LICENCE, **doors}
    compile_: Any = _njit(**options, _nrt=False)
    compiled: _Kernel = compile_(function)
    return compiled


def row_kernel(function: _Kernel) -> _Kernel:
    """Compile a loop over rows that do not overlap, so that it works on several cells at once.

    Each row is passed as an array of its own. An array that is written must not share memory with any other argument:
    the compiler does not look. Nothing may be allocated inside.
    """
    return _on_rows(function, no_cfunc_wrapper=True)


def inner_kernel(function: _Kernel) -> _Kernel:
    """Compile the same, but to be called by other kernels only: no door to Python has to be compiled."""
    return _on_rows(function, no_cpython_wrapper=True, no_cfunc_wrapper=True)


def _on_rows(function: _Kernel, **doors: bool) -> _Kernel:
    options: dict[str, Any] = {"cache": True, "error_model": "numpy", "nogil": True, "fastmath": _LICENCE, **doors}
    # Without the runtime of memory nothing counts the references to each row, and nothing can be allocated.
    options.update(pipeline_class=_SeparateRows, _nrt=False)
    compile_: Any = _njit(**options)
    compiled: _Kernel = compile_(function)
    return compiled
