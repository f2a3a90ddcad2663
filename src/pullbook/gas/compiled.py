"""The compiler of the kernels; the only module that imports numba.

A kernel that Python calls becomes machine code; one that other kernels call is taken in by its caller as a *part*, and
optimised and turned into machine code there, once. (As the compiler does it by itself, every kernel on the way becomes
machine code of its own that never runs, which takes half as long again.) A kernel may be both.

The compiler keeps what it made in a folder of the user's cache. It looks at the file of a kernel to see whether that
has changed, but not at the files of the kernels that it calls; so the folder is named by all of them.
"""

from __future__ import annotations

import gc
import hashlib
import os
import shutil
import sys
import tempfile
from contextlib import suppress
from functools import update_wrapper
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, TypeAlias, TypeVar, cast

import numba
from numba.core import event, types
from numba.core.codegen import JITCodeLibrary
from numba.core.compiler import Compiler
from numba.extending import typeof_impl

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

__all__ = [
    "inline_kernel",
    "inner_kernel",
    "inner_network_kernel",
    "is_compiled",
    "kernel",
    "network_kernel",
    "row_kernel",
]

_Function = TypeVar("_Function", bound="Callable[..., Any]")

# What the compiler may do with floating-point numbers: fuse a product with a sum, forget the sign of zero, multiply by
# a reciprocal. It may not assume that there is no NaN, since a run that goes wrong must be caught.
_LICENCE: Final = {"contract", "nsz", "arcp"}

_KEPT: Final = 30 * 86400.0  # s; machine code that no run has used for longer is deleted


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
    """Folder of the compiled kernels; made, and those that no run has used for long are deleted."""
    parent = _caches() / "pullbook"
    folder = parent / f"kernels-{_sources()}"
    try:
        folder.mkdir(parents=True, exist_ok=True)
        folder.touch()
    except OSError:
        return Path(tempfile.gettempdir()) / "pullbook" / folder.name
    for other in parent.glob("kernels-*"):
        # Another version may be in use beside this one, and each notes its last run; another run may delete as well.
        with suppress(OSError):
            if other.stat().st_mtime < folder.stat().st_mtime - _KEPT:
                shutil.rmtree(other, ignore_errors=True)
    return folder


class _NoCollection(event.Listener):
    """No garbage is looked for while a kernel is compiled: millions of small records are alive, and none is garbage."""

    def __init__(self) -> None:
        self._depth, self._was_on = 0, False

    def on_start(self, event: object) -> None:  # noqa: ARG002 - as the parent names it
        """A kernel, or a part of it."""
        if self._depth == 0:
            self._was_on = gc.isenabled()
            gc.disable()
        self._depth += 1

    def on_end(self, event: object) -> None:  # noqa: ARG002 - as the parent names it
        """The same is done."""
        self._depth -= 1
        if self._depth == 0 and self._was_on:
            gc.enable()


_register: Any = event.register
_register("numba:compile", _NoCollection())

if "NUMBA_CACHE_DIR" not in os.environ:
    # Asked for when the first kernel is made, which is after this.
    os.environ["NUMBA_CACHE_DIR"] = str(_folder())
    _settings: Any = import_module("numba.core.config")
    _settings.reload_config()


def is_compiled(function: Callable[..., Any]) -> bool:
    """Whether a kernel that Python calls has been compiled by an earlier run, or will be when it is called."""
    return any(Path(os.environ["NUMBA_CACHE_DIR"]).rglob(f"*.{function.__name__}-*.nbi"))


_Untyped: TypeAlias = Any  # numba ships no types

# The published types of numba leave out some of its options.
_njit: Any = numba.njit
_ALL: Final[dict[str, Any]] = {"error_model": "numpy", "nogil": True, "fastmath": _LICENCE}


class _Kernel:
    """A kernel: Python calls machine code of its own, where it has that door; other kernels take it in as a part."""

    def __init__(self, function: Callable[..., Any], door: _Untyped, part: _Untyped) -> None:
        update_wrapper(self, function)
        self._door, self.part = door, part

    def __call__(self, *arguments: _Untyped) -> _Untyped:
        if self._door is None:
            # The part has no machine code: a call would end the process.
            raise TypeError(f"{self.__name__} is a part of other kernels and cannot be called by itself")
        return self._door(*arguments)

    def __getattr__(self, name: str) -> _Untyped:
        return getattr(self._door, name)


@typeof_impl.register(_Kernel)
def _type_of_kernel(value: _Kernel, _context: object) -> _Untyped:
    """What other kernels see where they name a kernel: the part."""
    return types.Dispatcher(value.part)


def kernel(function: _Function) -> _Function:
    """Compile a function for the types it is first called with, and keep it for the next start."""
    return _with_door(function, _SCALAR, _PlainPart)


def inline_kernel(function: _Function) -> _Function:
    """Compile a small function into each of its callers."""
    compile_: Any = _njit(error_model="numpy", fastmath=_LICENCE, inline="always")
    compiled: _Function = compile_(function)
    return compiled


class _NoDoor:
    """Code generator of a part: there is no machine code in which the surroundings of the function could be kept."""

    def __init__(self, codegen: _Untyped) -> None:
        self._codegen = codegen

    def __getattr__(self, name: str) -> _Untyped:
        return getattr(self._codegen, name)

    def set_env(self, name: str, env: object) -> None:
        """Keep nothing."""


class _Part(JITCodeLibrary):
    """Code of a kernel that only other kernels call, kept in the compiler's own language.

    Every caller takes the whole of it in and turns it into machine code with its own. Machine code of the part alone
    would never run.
    """

    optimised = True

    @property
    def codegen(self) -> _Untyped:
        return _NoDoor(self._codegen)

    def _optimize_functions(self, ll_module: _Untyped) -> None:
        whole: Any = super()
        if self.optimised:
            whole._optimize_functions(ll_module)  # noqa: SLF001 - of its own parent
        else:
            codegen: Any = self._codegen
            ll_module.data_layout = codegen._data_layout  # noqa: SLF001 - of its own parent

    def _optimize_final_module(self) -> None:
        whole: Any = super()
        if self.optimised:
            whole._optimize_final_module()  # noqa: SLF001 - of its own parent

    def _finalize_final_module(self) -> None:
        whole: Any = super()
        whole._finalize_dynamic_globals()  # noqa: SLF001 - of its own parent
        whole._verify_declare_only_symbols()  # noqa: SLF001 - of its own parent
        self._finalized = True

    def get_pointer_to_function(self, name: str) -> int:  # noqa: ARG002 - as the parent names it
        """There is none."""
        whole: Any = super()
        whole._ensure_finalized()  # noqa: SLF001 - of its own parent
        return 0


class _RawPart(_Part):
    """The same, not even optimised: that is left to the caller."""

    optimised = False


class _SeparateRows(Compiler):
    """Compiler that is told that no two arrays of the arguments share memory with one that is written."""

    def define_pipelines(self) -> _Untyped:
        self.state.flags.noalias = True
        passes: Any = super()
        return passes.define_pipelines()


class _RowPart(_SeparateRows):
    """The same for a part."""

    def define_pipelines(self) -> _Untyped:
        _take_in(self, _Part)
        return super().define_pipelines()


class _PlainPart(Compiler):
    """Compiler of parts that need no care of their own."""

    def define_pipelines(self) -> _Untyped:
        _take_in(self, _RawPart)
        passes: Any = super()
        return passes.define_pipelines()


def _take_in(compiler: _Untyped, library: type[_Part]) -> None:
    compiler.state.library = library(compiler.state.targetctx.codegen(), compiler.state.func_id.func_qualname)


# Without the runtime of memory nothing counts the references to arrays, and nothing can be allocated.
_SCALAR: Final[dict[str, Any]] = {}
_NETWORK: Final[dict[str, Any]] = {"_nrt": False}
_ROWS: Final[dict[str, Any]] = {"_nrt": False, "pipeline_class": _SeparateRows}


def network_kernel(function: _Function) -> _Function:
    """Compile a function that hands a whole network of arrays to others.

    A network is a tuple of many arrays, and the compiler would count a reference to each of them at every call. Without
    the runtime of memory it counts none, and nothing can be allocated inside.
    """
    return _with_door(function, _NETWORK, _PlainPart)


def inner_network_kernel(function: _Function) -> _Function:
    """Compile the same, but to be called by other kernels only."""
    whole: Any = _Kernel(function, None, _part(function, _NETWORK, _PlainPart))
    return cast("_Function", whole)


def row_kernel(function: _Function) -> _Function:
    """Compile a loop over rows that do not overlap, so that it works on several cells at once.

    Each row is passed as an array of its own. An array that is written must not share memory with any other argument:
    the compiler does not look. Nothing may be allocated inside.
    """
    return _with_door(function, _ROWS, _RowPart)


def inner_kernel(function: _Function) -> _Function:
    """Compile the same, but to be called by other kernels only."""
    whole: Any = _Kernel(function, None, _part(function, _ROWS, _RowPart))
    return cast("_Function", whole)


def _with_door(function: _Function, options: Mapping[str, Any], part: type[Compiler]) -> _Function:
    door = _njit(cache=True, no_cfunc_wrapper=True, **_ALL, **options)(function)
    whole: Any = _Kernel(function, door, _part(function, options, part))
    return cast("_Function", whole)


def _part(function: Callable[..., Any], options: Mapping[str, Any], part: type[Compiler]) -> _Untyped:
    doors = {"no_cpython_wrapper": True, "no_cfunc_wrapper": True}
    return _njit(**_ALL, **doors, **{**options, "pipeline_class": part})(function)
