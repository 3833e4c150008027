"""Positions of the casebook as PGN, EPD and JSON Lines.

JSON Lines lose nothing.  PGN and EPD are for other software: text that their standards cannot
carry is written as near as they can, and never so that it is read as something else.
"""

from __future__ import annotations

import io
import re
from collections.abc import Callable, Iterable

import chess
import chess.pgn

from flightless.casebook.data import Details, Entry, Format
from flightless.casebook.documents import document_of
from flightless.casebook.games import json_text
from flightless.errors import UsageError

__all__ = ["KEYS_TAG", "PATTERNS_TAG", "SEPARATOR", "TAGS_TAG", "writer_of"]

PATTERNS_TAG, TAGS_TAG, KEYS_TAG = "Patterns", "Tags", "Keys"
SEPARATOR = "; "
"""Between the names in one PGN tag or EPD comment."""

_ROSTER = ("Event", "Site", "Date", "Round", "White", "Black")
_TAG_NAME = re.compile(r"[A-Za-z0-9_]{1,255}")
_OWN_TAGS = frozenset({"Result", "SetUp", "FEN", PATTERNS_TAG, TAGS_TAG, KEYS_TAG})


def writer_of(format: Format) -> Callable[[Details], str]:
    """What writes one position in this format, ending in a new line."""
    writers: dict[str, Callable[[Details], str]] = {"pgn": _pgn, "epd": _epd, "jsonl": _jsonl}
    if format not in writers:
        raise UsageError(f"a casebook is written as {', '.join(writers)}, not as {format!r}")
    return writers[format]


def _jsonl(details: Details) -> str:
    return json_text(document_of(details), "the position") + "\n"


def _epd(details: Details) -> str:
    """FEN's first four fields and operations of the EPD part of the PGN standard (16.2.4, 16.2.5).

    `bm` the keys in SAN, `dm` the length, `hmvc` and `fmvn` the counters, `id` the first game,
    `c0` patterns, `c1` tags, `c2` the note.
    """
    entry = details.entry
    board = entry.board
    parts = []
    if entry.keys:
        sans = sorted(board.san(chess.Move.from_uci(key)) for key in entry.keys)
        parts.append("bm " + " ".join(sans))
    if entry.moves:
        parts.append(f"dm {entry.moves}")
    parts += [f"hmvc {board.halfmove_clock}", f"fmvn {board.fullmove_number}"]
    for opcode, text in (
        ("id", _title(entry)),
        ("c0", _labelled("patterns", entry.patterns)),
        ("c1", _labelled("tags", entry.tags)),
        ("c2", entry.note),
    ):
        if text:
            parts.append(f'{opcode} "{_one_line(text).replace(chr(34), chr(39))}"')
    return f"{board.epd(en_passant='legal')} {'; '.join(parts)};\n"


def _labelled(word: str, names: Iterable[str]) -> str:
    joined = SEPARATOR.join(names)
    return f"{word}: {joined}" if joined else ""


def _title(entry: Entry) -> str:
    if entry.first is None:
        return ""
    game = entry.first.game
    players = " - ".join(name for name in (game.white, game.black) if name)
    place = f"{game.file}, {game.number}" if game.number is not None else game.file
    parts = [players or place, game.event, str(game.year or "")]
    return ", ".join(part for part in parts if part)


def _pgn(details: Details) -> str:
    """One game from the position on: the main line, the other keys as variations."""
    entry = details.entry
    game = chess.pgn.Game.without_tag_roster()
    game.setup(entry.board)
    node: chess.pgn.GameNode = game
    for san in entry.line:
        node = node.add_main_variation(node.board().parse_san(san))
    followed = node.board().move_stack[:1] if entry.line else []
    for key in entry.keys:
        move = chess.Move.from_uci(key)
        if move not in followed:
            game.add_variation(move)
    result = _result(node.board(), details)
    tags = _tag_pairs(details, result)
    exporter = chess.pgn.StringExporter(headers=False, columns=80)
    # The result ends the movetext and is the same as in the tag.
    game.headers["Result"] = result
    movetext = game.accept(exporter)
    text = _comment(entry)
    return f"{tags}\n{text}{movetext}\n\n"


def _comment(entry: Entry) -> str:
    parts = []
    if entry.moves:
        length = "Mate" if entry.moves > 0 else "Mated"
        parts.append(f"{length} in {abs(entry.moves)}.")
    if entry.note:
        parts.append(_one_line(entry.note))
    text = " ".join(parts).replace("{", "(").replace("}", ")")
    return f"{{ {text} }}\n" if text else ""


def _result(board: chess.Board, details: Details) -> str:
    if board.is_checkmate():
        return "0-1" if board.turn else "1-0"
    first = details.entry.first
    told = first.game.tags.get("Result", "*") if first is not None else "*"
    return told if told in ("1-0", "0-1", "1/2-1/2") else "*"


def _tag_pairs(details: Details, result: str) -> str:
    entry = details.entry
    told = dict(entry.first.game.tags) if entry.first is not None else {}
    pairs = {name: told.get(name) or _unknown(name) for name in _ROSTER}
    pairs |= {"Result": result, "SetUp": "1", "FEN": entry.fen}
    own = ((PATTERNS_TAG, entry.patterns), (TAGS_TAG, entry.tags))
    pairs |= {name: SEPARATOR.join(values) for name, values in own if values}
    if entry.keys:
        pairs[KEYS_TAG] = " ".join(entry.keys)
    for name, value in told.items():
        if name not in pairs and name not in _OWN_TAGS and _TAG_NAME.fullmatch(name):
            pairs[name] = value
    lines = io.StringIO()
    for name, value in pairs.items():
        escaped = _one_line(value).replace("\\", "\\\\").replace('"', '\\"')
        lines.write(f'[{name} "{escaped}"]\n')
    return lines.getvalue()


def _unknown(name: str) -> str:
    return "????.??.??" if name == "Date" else "?"


def _one_line(text: str) -> str:
    """The text without line ends and other characters that a line of text cannot have."""
    return "".join(c if c.isprintable() else " " for c in text)
