"""The most alike among very many: geometry keys as columns of small numbers.

The measure is that of `likeness`; here it is worked out for all keys at once with numpy, from
tables of what the question has in common with every possible value of a column.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from zipfile import BadZipFile

import numpy as np
import numpy.typing as npt

from flightless.errors import FileError
from flightless.patterns.likeness import (
    CHECKS,
    OWN,
    PLACES,
    TANDEM,
    WEIGHTS,
    Features,
    check_likeness,
    features_of,
    place_likeness,
    turned,
)

__all__ = ["LikenessIndex"]

_CHUNK = 1 << 15
"""Keys worked on at once, so that the columns stay in the processor's cache."""

_FIELDS = ("fine", "coarse", "check", "place", "tandem", "own")

Floats = npt.NDArray[np.float32]
Numbers = npt.NDArray[np.uint32]


@dataclass(frozen=True, slots=True)
class LikenessIndex:
    """Geometry keys, numbered from 0 in the order in which they were given.

    `columns` has one row for each field of `likeness.Features` and one column for each
    different key; `which` gives the column of each key.
    """

    columns: Numbers
    which: Numbers

    @classmethod
    def of(cls, keys: Iterable[str]) -> LikenessIndex:
        """The index of some keys.  A key that comes again costs next to nothing.

        Raises `UsageError` for a text that is no key.
        """
        known: dict[str, int] = {}
        numbers = [known.setdefault(key, len(known)) for key in keys]
        features = [features_of.__wrapped__(key) for key in known]
        table = np.array(
            [[getattr(f, name) for f in features] for name in _FIELDS], dtype=np.uint32
        )
        return cls(table, np.array(numbers, dtype=np.uint32))

    def __len__(self) -> int:
        return len(self.which)

    def save(self, path: Path) -> None:
        """Write the index to a file of numpy's own format."""
        with path.open("wb") as file:
            np.savez(file, columns=self.columns, which=self.which)

    @classmethod
    def load(cls, path: Path) -> LikenessIndex:
        """Read what `save` wrote.  Raises `FileError` if the file is not that."""
        try:
            with path.open("rb") as file, np.load(file, allow_pickle=False) as data:
                columns, which = data["columns"], data["which"]
        except (OSError, ValueError, TypeError, EOFError, KeyError, BadZipFile) as error:
            raise FileError(f"{path}: not an index of geometry keys: {error}") from error
        if (
            columns.dtype != np.uint32
            or columns.ndim != 2
            or len(columns) != len(_FIELDS)
            or which.dtype != np.uint32
            or which.ndim != 1
            or (len(which) and int(which.max()) >= columns.shape[1])
        ):
            raise FileError(f"{path}: not an index of geometry keys: other columns")
        return cls(columns, which)

    def values(self, key: str) -> Floats:
        """The likeness of `key` to each key of the index."""
        asked = features_of(key)
        tables = _tables(asked)
        turns = [
            (np.uint32(turned(asked.coarse, n)), np.uint32(turned(asked.fine, n))) for n in range(8)
        ]
        different = self.columns.shape[1]
        result = np.empty(different, dtype=np.float32)
        for start in range(0, different, _CHUNK):
            part = slice(start, start + _CHUNK)
            fine, coarse, *others = self.columns[:, part]
            value = _squares(coarse, fine, turns)
            for table, numbers in zip(tables, others, strict=True):
                value += table[numbers]
            result[part] = value
        return result[self.which]

    def nearest(
        self, key: str, most: int = 20, least: float = 0.0
    ) -> tuple[tuple[int, float], ...]:
        """The numbers of the keys most alike and their likeness, the best first; of equally
        alike ones the one with the lower number."""
        values = self.values(key)
        most = min(most, len(values))
        if most < 1:
            return ()
        edge = np.partition(values, len(values) - most)[len(values) - most]
        better = np.flatnonzero(values > edge)
        equal = np.flatnonzero(values == edge)[: most - len(better)]
        found = np.concatenate([better, equal])
        found = found[np.lexsort((found, -values[found]))]
        return tuple((int(i), float(values[i])) for i in found if values[i] >= least)


def _tables(asked: Features) -> tuple[Floats, ...]:
    """What the question has in common with each value that a column can have."""
    check = [check_likeness(asked.check, i) for i in range(1 << len(CHECKS))]
    place = [place_likeness(asked.place, i) for i in range(len(PLACES))]
    return (
        np.array(check, dtype=np.float32) * np.float32(WEIGHTS["check"]),
        np.array(place, dtype=np.float32) * np.float32(WEIGHTS["place"]),
        _shared(asked.tandem, 2, len(TANDEM)) * np.float32(WEIGHTS["tandem"]),
        _shared(asked.own, 3, len(OWN)) * np.float32(WEIGHTS["own men"]),
    )


def _shared(asked: int, width: int, many: int) -> Floats:
    """`likeness.shared` of `asked` and every value of its bits."""
    every = np.arange(1 << width * many)
    both, either = np.zeros(len(every)), np.zeros(len(every))
    for i in range(many):
        count = every >> width * i & (1 << width) - 1
        own = asked >> width * i & (1 << width) - 1
        both += np.minimum(count, own)
        either += np.maximum(count, own)
    return np.where(either > 0, both / np.maximum(either, 1), 1).astype(np.float32)


def _squares(
    coarse: Numbers,
    fine: Numbers,
    turns: list[tuple[np.uint32, np.uint32]],
) -> Floats:
    """The two parts that look at the field, in the best turn."""
    best = np.zeros(len(fine), dtype=np.uint16)
    # weights as whole numbers, so that the best turn is found without rounding
    squares, reasons = round(WEIGHTS["squares"] * 100), round(WEIGHTS["reasons"] * 100)
    for turned_coarse, turned_fine in turns:
        value = _alike(coarse ^ turned_coarse) * np.uint16(squares)
        value += _alike(fine ^ turned_fine) * np.uint16(reasons)
        np.maximum(best, value, out=best)
    return best.astype(np.float32) / np.float32(800)


def _alike(nibbles: Numbers) -> npt.NDArray[np.uint16]:
    """How many of the eight groups of four bits are 0."""
    nibbles |= nibbles >> np.uint32(1)
    nibbles |= nibbles >> np.uint32(2)
    nibbles &= np.uint32(0x11111111)
    return (np.uint8(8) - np.bitwise_count(nibbles)).astype(np.uint16)
