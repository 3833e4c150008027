"""Single machine instructions on 64-bit words, for compiled code only.

numba has no names for these; each is one LLVM intrinsic.  The constants are `uint64`
because numba turns `uint64` with a plain integer into a signed or floating number.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Final, cast

import numpy as np
from llvmlite import ir
from numba import types
from numba.extending import intrinsic
from numba.np.arrayobj import make_array

__all__ = ["ALL", "FILE_A", "FILE_H", "ONE", "ZERO", "clz", "ctz", "load", "popcount", "rotate"]

ZERO: Final = np.uint64(0)
ONE: Final = np.uint64(1)
ALL: Final = np.uint64(0xFFFFFFFFFFFFFFFF)
FILE_A: Final = np.uint64(0x0101010101010101)
FILE_H: Final = np.uint64(0x8080808080808080)

_intrinsic = cast("Callable[[Callable[..., Any]], Any]", intrinsic)
_make_array: Any = make_array
_BIT = ir.IntType(1)
_WORD = ir.IntType(64)


@_intrinsic
def _ctz(_context: Any, _x: Any) -> Any:
    def generate(_c: Any, builder: Any, _s: Any, arguments: Any) -> Any:
        return builder.cttz(arguments[0], ir.Constant(_BIT, 0))

    return types.uint64(types.uint64), generate


@_intrinsic
def _clz(_context: Any, _x: Any) -> Any:
    def generate(_c: Any, builder: Any, _s: Any, arguments: Any) -> Any:
        return builder.ctlz(arguments[0], ir.Constant(_BIT, 0))

    return types.uint64(types.uint64), generate


@_intrinsic
def _popcount(_context: Any, _x: Any) -> Any:
    def generate(_c: Any, builder: Any, _s: Any, arguments: Any) -> Any:
        return builder.ctpop(arguments[0])

    return types.uint64(types.uint64), generate


@_intrinsic
def _rotate(_context: Any, _x: Any, _by: Any) -> Any:
    def generate(_c: Any, builder: Any, _s: Any, arguments: Any) -> Any:
        kind = ir.FunctionType(_WORD, [_WORD, _WORD, _WORD])
        function = builder.module.declare_intrinsic("llvm.fshl", [_WORD], kind)
        return builder.call(function, [arguments[0], arguments[0], arguments[1]])

    return types.uint64(types.uint64, types.uint64), generate


ctz = cast("Callable[[np.uint64], np.uint64]", _ctz)
"""Index of the lowest bit; 64 for none."""

clz = cast("Callable[[np.uint64], np.uint64]", _clz)
"""Number of zeros above the highest bit; 64 for none."""

popcount = cast("Callable[[np.uint64], np.uint64]", _popcount)
"""Number of bits."""

rotate = cast("Callable[[np.uint64, np.uint64], np.uint64]", _rotate)
"""Rotate left by so many bits (0 to 63)."""


@_intrinsic
def _load(_context: Any, data: Any, _at: Any) -> Any:
    def generate(context: Any, builder: Any, signature: Any, arguments: Any) -> Any:
        array = _make_array(signature.args[0])(context, builder, arguments[0])
        start = builder.bitcast(array.data, ir.IntType(8).as_pointer())
        place = builder.gep(start, [arguments[1]])
        value = builder.load(builder.bitcast(place, _WORD.as_pointer()))
        value.align = 1
        return value

    return types.uint64(data, types.uint64), generate


load = cast("Callable[[np.ndarray[Any, np.dtype[np.uint8]], np.uint64], np.uint64]", _load)
"""Eight bytes of a text from an index on, the first lowest (on the little-endian machines
that numba has); the caller sees to it that they are there."""
