"""How functions that only compiled functions call are compiled: no further than needed.

numba optimises, and turns into machine code, every function by itself and then once more
within each of its callers.  For functions that are never called from Python the first is
wasted; leaving it out nearly halves the time of a cold start.  The functions stay in the
compiler's intermediate language and are optimised once in each entry point that uses them.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, NoReturn

from numba.core.codegen import JITCodeLibrary
from numba.core.compiler import CompilerBase, DefaultPassBuilder
from numba.core.compiler_machinery import LoweringPass, register_pass
from numba.core.registry import CPUDispatcher
from numba.core.typed_passes import AnnotateTypes

__all__ = ["InnerFunction"]

_register: Any = register_pass


class _WithoutEnvironment:
    """A code generator that sets no environment: the function has no address to set it at.

    numba uses a function's environment only to call back into Python, which inner functions
    never do.
    """

    def __init__(self, codegen: Any) -> None:
        self._codegen = codegen

    def __getattr__(self, name: str) -> Any:
        return getattr(self._codegen, name)

    def set_env(self, name: str, environment: object) -> None:
        """Nothing."""


class _InnerLibrary(JITCodeLibrary):
    """The code of an inner function and of those it calls, for linking only."""

    @property
    def codegen(self) -> Any:
        """The code generator that owns the library."""
        return _WithoutEnvironment(self._codegen)

    def finalize(self) -> None:
        """Link what the function calls, but neither optimise nor generate machine code."""
        this: Any = self
        this._raise_if_finalized()
        for library in dict.fromkeys(this._linking_libraries):
            this._final_module.link_in(library._get_module_for_linking(), preserve=True)
        this._final_module.verify()
        this._finalize_dynamic_globals()
        this._verify_declare_only_symbols()
        this._finalized = True

    def get_pointer_to_function(self, name: str) -> int:  # noqa: ARG002
        """Zero, which is numba's word for no such machine code."""
        this: Any = self
        this._ensure_finalized()
        return 0


@_register(mutates_CFG=False, analysis_only=True)
class _UseInnerLibrary(LoweringPass):
    """Lets the function be lowered into a library for linking only."""

    _name = "flightless_inner_library"

    def __init__(self) -> None:
        start: Any = super().__init__
        start()

    def run_pass(self, state: Any) -> bool:
        codegen = state.targetctx.codegen()
        library: Any = _InnerLibrary
        state.library = library(codegen, state.func_id.func_qualname)
        return False


class _InnerCompiler(CompilerBase):
    """numba's usual passes, and a library for linking only."""

    def define_pipelines(self) -> list[Any]:
        builder: Any = DefaultPassBuilder
        passes = builder.define_nopython_pipeline(self.state)
        passes.add_pass_after(_UseInnerLibrary, AnnotateTypes)
        passes.finalize()
        return [passes]


class InnerFunction(CPUDispatcher):
    """A compiled function for compiled callers; calling it from Python is refused."""

    def __init__(self, function: Callable[..., Any], options: dict[str, object]) -> None:
        start: Any = super().__init__
        start(function, targetoptions=options, pipeline_class=_InnerCompiler)

    def __call__(self, *_arguments: object, **_named: object) -> NoReturn:
        raise TypeError(f"{self.py_func.__name__} is for compiled functions only")
