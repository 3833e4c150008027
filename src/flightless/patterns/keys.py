"""A geometry key taken apart again, and said in plain words.

`geometry` makes keys and says what they mean; `likeness` compares what is read here.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

import chess

from flightless.errors import UsageError
from flightless.patterns.frames import FIELD, Step
from flightless.patterns.geometry import AXES, STEP_NAMES

__all__ = ["KeyMan", "ParsedKey", "parse_key", "readable"]

_STEPS = {name: step for step, name in STEP_NAMES.items()}
_ALONG = {axis: step for step, axis in sorted(AXES.items())}
_KINDS = {letter: kind for kind, letter in enumerate(".pnbrqk") if kind}
_MAN = re.compile(
    r"(?P<kind>[KQRBNP])(?P<checks>\+?)"
    r"(?:@(?P<at>[a-z]{1,2}|-?\d/-?\d)(?P<supported>\*?)(?::(?P<field>[a-z,]+))?"
    r"|(?P<lines>(?:~[a-z]{2,4}:[a-z,]+)+))"
)
_LINE = re.compile(r"~([a-z]{2,4}):([a-z,]+)")
_EXTRA = re.compile(r"([qrbnp])@([a-z]{1,2}|-?\d/-?\d)")


@dataclass(frozen=True, slots=True)
class KeyMan:
    """A man of the mating side in a key.

    `at` is his place as a step from the mated king, None for a line man known by his lines.
    `attacks` are (field square, a step along the line of the attack); that step is None if he
    stands `at` a place.  `supported`: by a man who does nothing else.
    """

    kind: chess.PieceType
    at: Step | None
    checks: bool
    supported: bool
    attacks: tuple[tuple[Step, Step | None], ...]


@dataclass(frozen=True, slots=True)
class ParsedKey:
    """A key as steps from the mated king: field squares off the board, own men on the field,
    the mating side's men, and own men elsewhere who belong to the skeleton."""

    off: tuple[Step, ...]
    own: tuple[tuple[chess.PieceType, Step], ...]
    men: tuple[KeyMan, ...]
    extra: tuple[tuple[chess.PieceType, Step], ...]


def parse_key(key: str) -> ParsedKey:
    """The parts of a geometry key.  Raises `UsageError` if the text is none."""
    off: tuple[Step, ...] = ()
    own: tuple[tuple[chess.PieceType, Step], ...] = ()
    men: list[KeyMan] = []
    extra: list[tuple[chess.PieceType, Step]] = []
    try:
        for part in key.split(" "):
            if part[:1] == "-":
                off = _squares(part[1:])
            elif part[:1] == "=":
                own = tuple((_KINDS[p[0]], _STEPS[p[1:]]) for p in part[1:].split(","))
            elif found := _EXTRA.fullmatch(part):
                extra.append((_KINDS[found[1]], _place(found[2])))
            else:
                men.append(_man(part))
    except (KeyError, IndexError):
        raise UsageError(f"{key[:80]!r} is not a geometry key") from None
    return ParsedKey(off, own, tuple(men), tuple(extra))


def _man(part: str) -> KeyMan:
    found = _MAN.fullmatch(part)
    if found is None:
        raise KeyError(part)
    kind = _KINDS[found["kind"].lower()]
    if found["lines"]:
        attacks: tuple[tuple[Step, Step | None], ...] = tuple(
            (square, _ALONG[axis])
            for axis, squares in _LINE.findall(found["lines"])
            for square in _squares(squares)
        )
        return KeyMan(kind, None, bool(found["checks"]), False, attacks)
    attacked = _squares(found["field"]) if found["field"] else ()
    return KeyMan(
        kind,
        _place(found["at"]),
        bool(found["checks"]),
        bool(found["supported"]),
        tuple((square, None) for square in attacked),
    )


def _squares(text: str) -> tuple[Step, ...]:
    return tuple(_STEPS[name] for name in text.split(","))


def _place(text: str) -> Step:
    if "/" in text:
        file, rank = text.split("/")
        return int(file), int(rank)
    return _STEPS[text]


def readable(key: str) -> str:
    """The key in plain words, directions as on a map with the eighth rank in the north.

    >>> readable("-n,ne,nw =ps,pse,psw R+~ew:e,w")
    'king on the edge in the north; own pawns s, se and sw; rook checks from afar on the ew line'
    """
    parsed = parse_key(key)
    parts = [_king_words(parsed.off)]
    if parsed.own:
        parts.append(_own_words(parsed.own))
    parts += [_man_words(man) for man in parsed.men]
    parts += [
        f"own {chess.piece_name(kind)} at {_at_words(step)} belongs to it"
        for kind, step in parsed.extra
    ]
    return "; ".join(parts)


def _king_words(off: tuple[Step, ...]) -> str:
    if not off:
        return "king off the edge"
    sides = [name for step, name in STEP_NAMES.items() if step in off and 0 in step]
    names = {"n": "north", "e": "east", "s": "south", "w": "west"}
    where = " and ".join(names[side] for side in sides)
    return (
        f"king in the corner, edges in the {where}"
        if len(off) == 5
        else (f"king on the edge in the {where}")
    )


def _own_words(own: tuple[tuple[chess.PieceType, Step], ...]) -> str:
    groups: dict[chess.PieceType, list[str]] = {}
    for kind, step in own:
        groups.setdefault(kind, []).append(STEP_NAMES[step])
    said = []
    for kind, places in groups.items():
        name = chess.piece_name(kind) + ("s" if len(places) > 1 else "")
        said.append(f"{name} {_and(sorted(places))}")
    return "own " + ", ".join(said)


def _man_words(man: KeyMan) -> str:
    name = chess.piece_name(man.kind)
    if man.kind == chess.KING:
        return f"the mating king at {_at_words(man.at)} holds {_field_words(man)}"
    if man.at is not None:
        words = f"{name} {'checks from' if man.checks else 'at'} {_at_words(man.at)}"
        words += ", supported" if man.supported else ""
        return words + (f", guards {_field_words(man)}" if man.attacks else "")
    lines = sorted({AXES[along] for _, along in man.attacks if along is not None})
    if man.checks and len(lines) == 1:
        return f"{name} checks from afar on the {lines[0]} line"
    words = "checks from afar and guards" if man.checks else "guards"
    on = f"the {lines[0]} line" if len(lines) == 1 else f"the lines {_and(lines)}"
    return f"{name} {words} {_field_words(man)} on {on}"


def _at_words(at: Step | None) -> str:
    if at is None:
        return "a distance"
    if at in FIELD:
        return f"the {STEP_NAMES[at]} square"
    return f"{at[0]:+d} files, {at[1]:+d} ranks"


def _field_words(man: KeyMan) -> str:
    return _and(sorted(STEP_NAMES[step] for step, _ in man.attacks))


def _and(words: list[str]) -> str:
    return words[0] if len(words) == 1 else ", ".join(words[:-1]) + " and " + words[-1]
