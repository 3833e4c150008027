"""How compiled functions are declared, cached on disk, and compiled ahead.

Every room that holds compiled code uses the decorators of this module; it knows where the
machine code is kept and when it is stale, and leaves chess to the others.
"""

from __future__ import annotations

import hashlib
import importlib
import json
import os
import pickle
import platform
import shutil
import subprocess
import sys
import time
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any, TypeVar

import llvmlite
import llvmlite.binding
import numba
from numba import types
from numba.core import event
from numba.core.caching import CompileResultCacheImpl, FunctionCache, _CacheLocator
from numba.core.runtime.nrt import rtsys

from flightless.core.pipeline import InnerFunction

__all__ = [
    "BOOL",
    "I64",
    "MOVES",
    "STATE",
    "U64",
    "cache_folder",
    "cache_root",
    "compile_from_back",
    "entry",
    "expected_seconds",
    "inner",
    "is_warm",
    "jit",
    "kernel_files",
    "on_compile",
    "on_notice",
    "prepare",
    "prune",
    "source_key",
    "warm",
]

_njit: Any = numba.njit  # the compiler is only partly typed
_types: Any = types
_event: Any = event

F = TypeVar("F", bound=Callable[..., Any])

KERNEL_GLOBS = ("core/*.py", "*/kernels.py", "*/kernels_*.py", "*/kernels/*.py")
"""Files, seen from the package, that may hold compiled functions.  A function elsewhere is
refused when it is declared, because its machine code could go stale unnoticed."""

_PACKAGE = Path(__file__).resolve().parent.parent
_KEEP_OTHERS = 6
_GUESS_SECONDS = 12.0

U64 = types.uint64
I64 = types.int64
BOOL = types.boolean
MOVES = types.Array(types.uint64, 1, "C")
"""The type of a caller-supplied array of moves: `numpy.empty(n, numpy.uint64)`."""


def _state_type() -> Any:
    from flightless.core.state import State

    return _types.NamedUniTuple(types.uint64, 6, State)


STATE = _state_type()
"""The type of a position (`flightless.core.state.State`) in a declared signature."""


# --- where machine code is kept -------------------------------------------------------------


def kernel_files(package: Path = _PACKAGE) -> tuple[Path, ...]:
    """All source files of the package that may hold compiled functions, in a fixed order."""
    return tuple(sorted({path for pattern in KERNEL_GLOBS for path in package.glob(pattern)}))


def cache_root() -> Path:
    """The folder of all machine code: `$FLIGHTLESS_CACHE`, else `$XDG_CACHE_HOME/flightless`,
    else `~/.cache/flightless`."""
    chosen = os.environ.get("FLIGHTLESS_CACHE")
    if chosen:
        return Path(chosen)
    home = os.environ.get("XDG_CACHE_HOME")
    base = Path(home) if home else Path("~/.cache").expanduser()
    return base / "flightless"


def source_key(room: str, package: Path = _PACKAGE) -> str:
    """A name for everything that the machine code of a room depends on.

    Code of `core/` depends on `core/` alone; code of any other room on all kernel files,
    because it may call them.
    """
    digest = hashlib.sha256()
    for path in kernel_files(package):
        relative = path.relative_to(package)
        if room != "core" or relative.parts[0] == "core":
            digest.update(f"{relative.as_posix()}\0".encode())
            digest.update(path.read_bytes())
    for fact in (
        numba.__version__,
        llvmlite.__version__,
        sys.version,
        platform.machine(),
        llvmlite.binding.get_host_cpu_name(),
    ):
        digest.update(f"\0{fact}".encode())
    return ("core-" if room == "core" else "rooms-") + digest.hexdigest()[:16]


_known_files = cache(kernel_files)
_known_key = cache(source_key)  # sources do not change under a running process


def cache_folder(room: str) -> Path:
    """The folder of the machine code of a room, for these sources, this numba and this CPU."""
    return cache_root() / _known_key(room)


def _place(function: Any) -> Path:
    """The file of a function to be compiled, seen from the package; it must be hashed."""
    path = Path(function.__code__.co_filename).resolve()
    if path not in _known_files():
        raise ValueError(
            f"{path.name} holds a compiled function but is not among the kernel files "
            f"({', '.join(KERNEL_GLOBS)})"
        )
    return path.relative_to(_PACKAGE)


class _Locator(_CacheLocator):
    """Tells numba to use our folder; its key stands for the age of the source."""

    def __init__(self, function: Any, file: str) -> None:
        relative = _place(function)
        self._py_file = file  # numba names it in its errors
        self._folder = str(cache_folder(relative.parts[0]))
        self._where = f"{'.'.join(relative.parts[:-1])}-{function.__code__.co_firstlineno}"

    def get_cache_path(self) -> str:
        return self._folder

    def get_source_stamp(self) -> str:
        return "keyed by folder"

    def get_disambiguator(self) -> str:
        return self._where

    @classmethod
    def from_function(cls, function: Any, file: str) -> _Locator:
        return cls(function, file)


class _Impl(CompileResultCacheImpl):
    _locator_classes = [_Locator]  # noqa: RUF012


_DAMAGE = (
    pickle.UnpicklingError,
    AttributeError,
    EOFError,
    ImportError,
    IndexError,
    KeyError,
    TypeError,
    ValueError,
)
"""The ways in which unpickling a damaged file fails (Python's documentation of `pickle`)."""


class _DiskCache(FunctionCache):
    """numba's cache of a function, which goes on without when the folder cannot be used."""

    _impl_class = _Impl

    def load_overload(self, sig: Any, target_context: Any) -> Any:
        """The compiled function from disk, or None.

        numba first fills its tables of everything that it can compile, a fifth of a second of
        every start.  Machine code that is ready needs its run-time system only; compiling fills
        the tables itself.
        """
        rtsys.initialize(target_context)
        return self._load_overload(sig, target_context)

    def _load_overload(self, sig: Any, target_context: Any) -> Any:
        try:
            return super()._load_overload(sig, target_context)  # type: ignore[no-untyped-call]
        except OSError as error:
            _give_notice(f"The compiled code in {self.cache_path} cannot be read", error)
        except _DAMAGE as error:
            # A file cut short by a full disk or a power cut; compiling anew overwrites it.
            _give_notice(f"A file of compiled code in {self.cache_path} is damaged", error)
        return None

    def _save_overload(self, sig: Any, data: Any) -> None:
        try:
            super()._save_overload(sig, data)  # type: ignore[no-untyped-call]
        except OSError as error:
            _give_notice(f"The folder {self.cache_path} cannot be written", error)


_notice_hooks: list[Callable[[str], None]] = []
_notices_given: list[str] = []


def on_notice(hook: Callable[[str], None]) -> None:
    """Have `hook` told, once in a process, that machine code cannot be kept on disk.

    The argument is one sentence.  A notice from before the call is handed over at once.
    """
    _notice_hooks.append(hook)
    for text in _notices_given:
        hook(text)


def _give_notice(what: str, error: Exception) -> None:
    if _notices_given:
        return
    reason = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
    text = f"{what} ({reason}); going on without it, so the core is compiled anew each time."
    _notices_given.append(text)
    for hook in _notice_hooks:
        hook(text)


# --- declaring functions --------------------------------------------------------------------

_entries: list[tuple[Any, tuple[Any, ...]]] = []


_OPTIONS: dict[str, object] = {"nogil": True, "error_model": "numpy"}
_INNER_OPTIONS: dict[str, object] = {
    **_OPTIONS,
    "nopython": True,
    "_nrt": False,  # no counting of references to arrays, hence no allocating either
    "no_cpython_wrapper": True,
    "no_cfunc_wrapper": True,
    "boundscheck": None,
}


def jit(function: F) -> F:
    """Compile a function that Python code may call; it releases the interpreter lock."""
    dispatcher: Any = _njit(**_OPTIONS)(function)
    new_cache: Any = _DiskCache
    dispatcher._cache = new_cache(function)
    declared: F = dispatcher
    return declared


def inner(function: F) -> F:
    """Compile a function that only compiled functions call; it must not allocate.

    It has no Python wrapper and keeps no reference counts of its array arguments, which
    makes calls cheap; and it is compiled only within the entry points that use it (see
    `pipeline`), so it is not kept on disk itself.  Calling it from Python is an error.
    """
    _place(function)
    declared: Any = InnerFunction(function, _INNER_OPTIONS)
    checked: F = declared
    return checked


def entry(*arguments: Any) -> Callable[[F], F]:
    """Register a `jit` function, with its argument types, to be compiled ahead by `warm`.

    Put it above `@jit`.  The types are numba's (`STATE`, `U64`, `MOVES` …); callers from
    Python must pass exactly these (`numpy.uint64` for `U64`, not `int`), or numba compiles
    another copy.
    """

    def register(function: F) -> F:
        _entries.append((function, arguments))
        return function

    return register


# --- compiling ahead ------------------------------------------------------------------------


def _stamp() -> Path:
    return cache_folder("rooms") / "warm.json"


def is_warm() -> bool:
    """Whether everything that is registered has been compiled for these sources."""
    return _stamp().is_file() and cache_folder("core").is_dir()


def _import_kernels() -> None:
    for path in _known_files():
        parts = path.relative_to(_PACKAGE).with_suffix("").parts
        if parts[-1] != "__init__":
            importlib.import_module(".".join(("flightless", *parts)))


def warm(report: Callable[[int, int, str], None] | None = None) -> float:
    """Compile all registered functions of all rooms, and keep the machine code on disk.

    `report` is called before each with the number done, their total and the name.  Returns
    the seconds it took.  A folder that cannot be written is no error (see `on_notice`).
    """
    started = time.perf_counter()
    helper = _start_helper()
    try:
        _import_kernels()
        for done, (function, arguments) in enumerate(_entries):
            if report is not None:
                report(done, len(_entries), function.__name__)
            function.compile(arguments)
    finally:
        if helper is not None:
            helper.kill()
            helper.wait()
    seconds = time.perf_counter() - started
    if not _notices_given:
        _leave_stamp(seconds)
        prune()
    return seconds


def _start_helper() -> subprocess.Popen[bytes] | None:
    """A second process that compiles the same functions from the last on, if there is a
    second processor and a folder to share.

    The two meet in the middle: what one has finished the other only loads.  numba compiles
    in one thread at a time, so nothing less than a process helps.
    """
    if _processors() < 2 or not _writable():
        return None
    return subprocess.Popen(
        [sys.executable, "-c", f"from {__name__} import compile_from_back as go; go()"],
        env=dict(os.environ, PYTHONPATH=os.pathsep.join(path for path in sys.path if path)),
        stdin=subprocess.DEVNULL,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )


def _processors() -> int:
    """How many processors this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def compile_from_back() -> None:
    """Compile all registered functions, the last first: the work of `warm`'s second process."""
    _import_kernels()
    for function, arguments in reversed(_entries):
        function.compile(arguments)


def _leave_stamp(seconds: float) -> None:
    text = json.dumps({"seconds": round(seconds, 1), "functions": len(_entries)})
    try:
        _stamp().parent.mkdir(parents=True, exist_ok=True)
        _stamp().write_text(text, encoding="utf-8")
        (cache_root() / "last.json").write_text(text, encoding="utf-8")
    except OSError as error:
        _give_notice(f"The folder {cache_root()} cannot be written", error)


def prune() -> None:
    """Remove machine code of old sources, all but the most recent few."""
    ours = {cache_folder("core"), cache_folder("rooms")}
    try:
        others = [
            path
            for path in cache_root().iterdir()
            if path.is_dir() and path not in ours and path.name.startswith(("core-", "rooms-"))
        ]
        others.sort(key=lambda path: (path.stat().st_mtime, path.name))
        for path in others[: max(len(others) - _KEEP_OTHERS, 0)]:
            shutil.rmtree(path, ignore_errors=True)
    except OSError as error:
        _give_notice(f"The folder {cache_root()} cannot be tidied", error)


def expected_seconds() -> float:
    """How long compiling everything took last time on this machine, or a guess."""
    try:
        document = json.loads((cache_root() / "last.json").read_text(encoding="utf-8"))
        return max(float(document["seconds"]), 1.0)
    except (OSError, ValueError, KeyError, TypeError):
        return _GUESS_SECONDS


def prepare(say: Callable[[str], None]) -> None:
    """Make sure that the compiled core is at hand, and tell the user if that takes long.

    When nothing is compiled yet and the cache can be written, everything is compiled now,
    between two lines to `say`.  When it cannot be written, `say` hears so once, and what is
    needed is compiled when it is first called.  For the command line.
    """
    on_notice(say)
    if is_warm():
        return
    if not _writable():
        on_compile(lambda: say("Compiling what this needs; some seconds."))
        return
    say(f"Compiling the core, once; about {expected_seconds():.0f} seconds.")
    say(f"done in {warm():.1f} s")


def _writable() -> bool:
    folder = cache_folder("core")
    probe = folder / f"probe-{os.getpid()}"
    try:
        folder.mkdir(parents=True, exist_ok=True)
        probe.write_bytes(b"")
        probe.unlink()
    except OSError as error:
        _give_notice(f"The folder {folder} cannot be written", error)
        return False
    return True


class _Compiles(event.Listener):
    """Calls a hook at the first real compilation of a process."""

    def __init__(self, hook: Callable[[], None]) -> None:
        self._hook: Callable[[], None] | None = hook

    def on_start(self, event: Any) -> None:
        # numba may compile functions of its own: those are quick, and no news.
        ours = event.data["dispatcher"].py_func.__module__.startswith("flightless.")
        if ours and self._hook is not None:
            hook, self._hook = self._hook, None
            hook()

    def on_end(self, event: Any) -> None:
        """Nothing: the end of one function is not the end of the compilation."""


def on_compile(hook: Callable[[], None]) -> None:
    """Call `hook` when this process first has to compile instead of loading from disk."""
    _event.register("numba:compile", _Compiles(hook))
