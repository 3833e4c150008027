"""Writing TOML (version 1.0): the few shapes that an exercise file has.

Reading is the standard library's work; there is no writer in it.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping, Sequence

__all__ = ["Value", "table_text", "value_text"]

Value = str | int | float | bool | Sequence[str]

_BARE = re.compile(r"[A-Za-z0-9_-]+")
_WIDTH = 100


def value_text(value: Value) -> str:
    """A value as TOML writes it; lists longer than a line take a line for each item."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int | float):
        return repr(value)
    if isinstance(value, str):
        return _quoted(value)
    items = [_quoted(item) for item in value]
    line = f"[{', '.join(items)}]"
    if len(line) <= _WIDTH - 12:
        return line
    return "[\n" + "".join(f"  {item},\n" for item in items) + "]"


def _quoted(text: str) -> str:
    """A basic string.  JSON's escapes are TOML's, but for the character DEL; half a surrogate
    pair, which no text file can hold, becomes a question mark."""
    plain = text.encode("utf-8", "replace").decode("utf-8")
    return json.dumps(plain, ensure_ascii=False).replace("\x7f", "\\u007f")


def table_text(header: str, values: Mapping[str, Value]) -> str:
    """A table under its header (none for the top of the file)."""
    lines = [header] if header else []
    for key, value in values.items():
        name = key if _BARE.fullmatch(key) else _quoted(key)
        lines.append(f"{name} = {value_text(value)}")
    return "\n".join(lines) + "\n"
