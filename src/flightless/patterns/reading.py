"""Catalogue files into patterns, and a folder of them into a catalogue.

A file with an error is refused with file, line and field.  The meaning of each word is in
`vocabulary` and docs/patterns.md; nothing is tried on a mate here.
"""

from __future__ import annotations

from pathlib import Path
from typing import Literal, cast

import chess

from flightless.errors import FileError
from flightless.patterns.frames import FIELD, Step, step_between
from flightless.patterns.source import Table, read_table, table_of
from flightless.patterns.vocabulary import (
    KINDS,
    Blocked,
    Diagonals,
    Example,
    Form,
    Freedom,
    Line,
    Literature,
    ManRule,
    Pattern,
    Place,
    Shut,
)

__all__ = ["FAMILIES", "pattern_from_text", "read_folder", "read_pattern"]

FAMILIES = (
    "heavy pieces",
    "queen or rook with a pawn",
    "heavy piece with a bishop",
    "minor pieces",
    "rook or queen with a knight",
    "our own",
)
"""The families of the catalogue; a coach's own patterns are 'our own' unless they say
otherwise."""

_PLACES: tuple[Place, ...] = (
    "here",
    "along the edge",
    "along the home rank",
    "off the edge",
    "anywhere",
)
_FREEDOMS: tuple[Freedom, ...] = ("every edge", "mirror of the files", "as written")


def read_folder(folder: Path) -> tuple[Pattern, ...]:
    """All patterns of a folder, in the order of their file names.  Names must differ."""
    patterns: dict[str, Pattern] = {}
    for path in sorted(folder.glob("*.toml")):
        pattern = read_pattern(path)
        if pattern.name in patterns:
            first = patterns[pattern.name].file
            raise FileError(f"{path}, name: {pattern.name!r} is already the name in {first}")
        patterns[pattern.name] = pattern
    return tuple(patterns.values())


def read_pattern(path: Path) -> Pattern:
    """The pattern in one file.  Raises `FileError` with file, line and field."""
    return _pattern(read_table(path))


def pattern_from_text(text: str, file: str) -> Pattern:
    """The pattern in a text that is not in a file yet; `file` is the name that errors give."""
    return _pattern(table_of(text, file))


def _pattern(table: Table) -> Pattern:
    table.only(
        "name description known_as family parents notes literature form model variation near_miss"
    )
    forms = table.tables("form")
    if not forms:
        table.refuse(None, "there is no [[form]]: a pattern needs at least one")
    return Pattern(
        name=table.text("name"),
        description=table.text("description"),
        family=cast(str, table.word("family", FAMILIES, "our own")),
        forms=tuple(form for one in forms for form in _forms(one)),
        model=_example(table.table("model"), "note"),
        variations=tuple(_example(one, "note") for one in table.tables("variation")),
        near_misses=tuple(_example(one, "why") for one in table.tables("near_miss")),
        known_as=table.optional_text("known_as"),
        parents=table.texts("parents"),
        literature=tuple(_literature(one) for one in table.tables("literature")),
        notes=table.texts("notes"),
        file=table.file,
    )


def _literature(table: Table) -> Literature:
    table.only("author title year from_memory")
    year = table.number("year")
    if year is None:
        table.refuse(None, "'year' is missing")
    return Literature(table.text("author"), table.text("title"), year, table.flag("from_memory"))


def _example(table: Table, note: str) -> Example:
    table.only(f"fen {note} source")
    fen = table.text("fen")
    try:
        board = chess.Board(fen)
    except ValueError as error:
        table.refuse("fen", f"not a position: {error}")
    if not board.is_valid():
        table.refuse("fen", f"not a legal position: {fen!r}")
    return Example(fen, table.optional_text(note) or "", table.optional_text("source"))


def _forms(table: Table) -> list[Form]:
    """One form for each square on which the king is written."""
    table.only(
        "king place orientation man blocked shut diagonals no_own_man_takes_part "
        "no_other_piece_takes_part"
    )
    kings = table.texts("king")
    if not kings:
        table.refuse(None, "'king' is missing: the square on which the mated king is written")
    return [_form(table, _square(table, "king", king)) for king in kings]


def _form(table: Table, king: chess.Square) -> Form:
    place = cast(Place, table.word("place", _PLACES, "here"))
    if place.startswith("along") and chess.square_rank(king) != 7:
        table.refuse("king", f"with place {place!r} the king is written on the eighth rank")
    men = tuple(_man(one, king) for one in table.tables("man"))
    roles = [rule.role for rule in men]
    for one, rule in zip(table.tables("man"), men, strict=True):
        for key, other in (
            ("supports", rule.supports),
            ("apart_from", rule.apart_from),
            ("on_edge_with", rule.on_edge_with),
        ):
            if other is not None:
                _one_role(one, key, other, roles)
    freedom = table.word("orientation", _FREEDOMS) or _derived_freedom(place, men)
    return Form(
        king=king,
        place=place,
        freedom=cast(Freedom, freedom),
        men=men,
        blocked=tuple(_blocked(one, king) for one in table.tables("blocked")),
        shut=tuple(_shut(one, king, roles) for one in table.tables("shut")),
        diagonals=tuple(_diagonals(one, roles) for one in table.tables("diagonals")),
        no_own_man_takes_part=table.flag("no_own_man_takes_part"),
        no_other_piece_takes_part=table.flag("no_other_piece_takes_part"),
    )


def _derived_freedom(place: Place, men: tuple[ManRule, ...]) -> Freedom:
    """Pawns move one way and a home rank is one rank: such forms have the mirror of the files
    only; all others hold on every edge and in every corner."""
    pawn = any(rule.kinds == KINDS["pawn"] for rule in men)
    return "mirror of the files" if pawn or place == "along the home rank" else "every edge"


def _man(table: Table, king: chess.Square) -> ManRule:
    table.only(
        "role kind checks stands distance supports guards guards_any holds apart_from on_edge_with"
    )
    return ManRule(
        role=table.text("role"),
        kinds=_kinds(table, "kind"),
        checks=table.flag("checks"),
        stands=tuple(_place(table, text, king) for text in table.texts("stands")),
        distance=cast(Literal["next", "far"] | None, table.word("distance", ("next", "far"))),
        supports=table.optional_text("supports"),
        guards=_field(table, "guards", king),
        guards_any=_field(table, "guards_any", king),
        holds=_field(table, "holds", king),
        apart_from=table.optional_text("apart_from"),
        on_edge_with=table.optional_text("on_edge_with"),
    )


def _blocked(table: Table, king: chess.Square) -> Blocked:
    table.only("role squares at_least kind need_not_take_part or_off_board")
    squares = _field(table, "squares", king)
    if not squares:
        table.refuse(None, "'squares' is missing")
    at_least = table.number("at_least")
    if at_least is None:
        at_least = len(squares)
    if not 1 <= at_least <= len(squares):
        table.refuse("at_least", f"{at_least} of {len(squares)} squares cannot be asked for")
    return Blocked(
        role=table.optional_text("role") or "blockers",
        squares=squares,
        at_least=at_least,
        kinds=_kinds(table, "kind") if "kind" in table.values else KINDS["any man"],
        need_not_take_part=table.flag("need_not_take_part"),
        or_off_board=table.flag("or_off_board"),
    )


def _shut(table: Table, king: chess.Square, roles: list[str]) -> Shut:
    table.only("squares by")
    squares, by = _field(table, "squares", king), table.texts("by")
    if not squares or not by:
        table.refuse(None, "'squares' and 'by' are both needed")
    for role in by:
        _one_role(table, "by", role, roles)
    return Shut(squares, by)


def _diagonals(table: Table, roles: list[str]) -> Diagonals:
    table.only("of are")
    of = table.texts("of")
    if len(of) != 2:
        table.refuse("of", "two roles are needed, first the man who checks")
    for role in of:
        _one_role(table, "of", role, roles)
    are = table.word("are", ("crossing", "neighbouring"))
    if are is None:
        table.refuse(None, "'are' is missing")
    return Diagonals((of[0], of[1]), cast(Literal["crossing", "neighbouring"], are))


def _one_role(table: Table, key: str, role: str, roles: list[str]) -> None:
    if roles.count(role) != 1:
        table.refuse(key, f"{role!r} is not the role of exactly one [[form.man]]")


def _kinds(table: Table, key: str) -> frozenset[chess.PieceType]:
    words = table.texts(key)
    if not words:
        table.refuse(None, f"{key!r} is missing")
    kinds: frozenset[chess.PieceType] = frozenset()
    for word in words:
        if word not in KINDS:
            table.refuse(key, f"{word!r} is not one of {', '.join(map(repr, KINDS))}")
        kinds |= KINDS[word]
    return kinds


def _square(table: Table, key: str, text: str) -> chess.Square:
    if text not in chess.SQUARE_NAMES:
        table.refuse(key, f"{text!r} is not a square")
    return chess.parse_square(text)


def _place(table: Table, text: str, king: chess.Square) -> Step | Line:
    """A square, or the line through two squares ('a1-h8')."""
    if "-" not in text:
        return step_between(king, _square(table, "stands", text))
    first, last = (_square(table, "stands", end) for end in text.split("-", 1))
    f, r = step_between(first, last)
    length = max(abs(f), abs(r))
    if not length or (f and r and abs(f) != abs(r)):
        table.refuse("stands", f"{text!r} is neither a rank, a file nor a diagonal")
    return Line(step_between(king, first), (f // length, r // length))


def _field(table: Table, key: str, king: chess.Square) -> tuple[Step, ...]:
    """Squares of the king's field as steps; 'field' stands for all eight."""
    steps = []
    for text in table.texts(key):
        if text == "field":
            return FIELD
        step = step_between(king, _square(table, key, text))
        if step not in FIELD:
            table.refuse(key, f"{text} is not next to the king on {chess.square_name(king)}")
        steps.append(step)
    return tuple(steps)
