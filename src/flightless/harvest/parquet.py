"""Finds as Parquet, for DuckDB, Polars and the like: the fields of the JSON, with their types.

Needs the optional package pyarrow.  Rows are written in groups, so that memory stays flat.
"""

from __future__ import annotations

import importlib
import json
import os
from collections.abc import Iterator
from itertools import islice
from pathlib import Path
from typing import Any

from flightless.errors import FileError, UsageError

__all__ = ["need_parquet", "write_parquet"]

_ROWS = 20_000


def need_parquet() -> None:
    """Refuse at once, not at the end of a long harvest, if pyarrow is missing."""
    _pyarrow()


def write_parquet(finds: Path, out: Path) -> None:
    """Turn a file of JSON Lines into Parquet; `out` appears when it is complete.

    Every field of the documents is a column of the same name; `source`, `way_in` and
    `same_game` are structures, `run` is a list of them; what a find does not have is null.
    """
    arrow, parquet = _pyarrow()
    schema = _schema(arrow)
    part = out.with_name(out.name + ".part")
    try:
        with finds.open("rb") as lines, parquet.ParquetWriter(part, schema) as writer:
            for rows in _groups(lines):
                writer.write_table(arrow.Table.from_pylist(rows, schema))
        os.replace(part, out)
    except OSError as error:
        raise FileError(f"{out} cannot be written: {error.strerror or error}") from None


def _pyarrow() -> tuple[Any, Any]:
    try:
        return importlib.import_module("pyarrow"), importlib.import_module("pyarrow.parquet")
    except ImportError:
        raise UsageError("writing Parquet needs the package 'pyarrow'") from None


def _groups(lines: Any) -> Iterator[list[dict[str, Any]]]:
    documents = map(json.loads, lines)
    while rows := list(islice(documents, _ROWS)):
        yield rows


def _schema(arrow: Any) -> Any:
    text, small, number = arrow.string(), arrow.int32(), arrow.int64()
    texts = arrow.list_(text)
    source = {
        "file": text,
        "line": number,
        "white": text,
        "black": text,
        "event": text,
        "site": text,
        "date": text,
        "round": text,
        "result": text,
    }
    miss = {"ply": small, "moves": small, "played": text, "slower": arrow.bool_()}
    way_in = {"ply": small, "fen": text, "moves": small, "keys": texts}
    columns = {
        "format": text,
        "version": small,
        "source": arrow.struct(list(source.items())),
        "game": number,
        "ply": small,
        "fen": text,
        "kind": text,
        "moves": small,
        "keys": texts,
        "line": texts,
        "patterns": texts,
        "skeleton": text,
        "found_by": text,
        "same_game": arrow.struct([("file", text), ("game", number)]),
        "repeated": arrow.bool_(),
        "way_in": arrow.struct(list(way_in.items())),
        "played": text,
        "slower": arrow.bool_(),
        "run": arrow.list_(arrow.struct(list(miss.items()))),
    }
    return arrow.schema(list(columns.items()))
