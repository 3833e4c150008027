"""The proof document `flightless-proof`, version 1: its fields, and reading one from text.

Reading checks types and ranges only, so that the verifier works on known shapes; whether the
claims hold on the board is for `verify`.  The format is described in docs/proofs.md.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, Literal, TypeVar, cast

import chess

from flightless.errors import CertificateError

__all__ = [
    "FORMAT",
    "LONGEST",
    "VERSION",
    "Claims",
    "ThreatClaim",
    "claims_of",
    "document_text",
    "placement",
    "position_key",
    "read_document",
]

FORMAT = "flightless-proof"
VERSION = 1
LONGEST = 1000
"""The longest mate, in moves, that a document may claim."""
_MOST_TEXT = 1 << 29

_Verdict = Literal["mate", "mated", "no mate", "undecided", "refused"]
_VERDICTS = ("mate", "mated", "no mate", "undecided", "refused")
_STOPS = (None, "nodes", "seconds")
_T = TypeVar("_T")


@dataclass(frozen=True, slots=True)
class ThreatClaim:
    """What a document says is threatened after a key: mate in `moves` if the defender passes."""

    moves: int
    keys: tuple[str, ...]
    line: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Claims:
    """A well-formed document: moves are UCI text, lines SAN text, positions FEN's first four.

    `tree` maps a position where the mating side moves to the number of moves to mate and the
    moves that keep to it, the first being the one that the proof follows.
    """

    fen: str
    verdict: _Verdict
    moves: int | None
    shortest: bool
    within: int
    searched: int
    keys: tuple[str, ...]
    line: tuple[str, ...]
    tree: Mapping[str, tuple[int, tuple[str, ...]]]
    threats: Mapping[str, ThreatClaim]
    delays: tuple[str, ...]


def read_document(text: str) -> dict[str, Any]:
    """The JSON object in `text`.  Raises `CertificateError` in one sentence if there is none."""
    if len(text) > _MOST_TEXT:
        raise CertificateError(f"the proof document is too long: {len(text)} characters")
    try:
        value = json.loads(text, object_pairs_hook=_without_repeats, parse_constant=_no_constant)
    except CertificateError:
        raise
    except RecursionError:
        raise CertificateError("the proof document is nested too deeply to be one") from None
    except ValueError as error:
        raise CertificateError(f"the proof document is not JSON: {_brief(error)}") from None
    return _mapping(value, "the proof document")


def document_text(document: Mapping[str, Any]) -> str:
    """One line of compact JSON, the same for the same document."""
    return json.dumps(document, ensure_ascii=False, separators=(",", ":"))


def claims_of(document: Mapping[str, Any]) -> Claims:
    """Check every field's type and range.  Raises `CertificateError` naming the first bad one."""
    document = _mapping(document, "the proof document")
    if document.get("format") != FORMAT:
        raise CertificateError(f"'format' must be {FORMAT!r}, and is {_show(document, 'format')}")
    version = document.get("version")
    if isinstance(version, bool) or version != VERSION:
        raise CertificateError(
            f"'version' must be {VERSION}, the one this program reads, and is "
            f"{_show(document, 'version')}"
        )
    fen = _field(document, "fen", str)
    verdict = _field(document, "verdict", str)
    if verdict not in _VERDICTS:
        raise CertificateError(
            f"'verdict' must be one of {', '.join(_VERDICTS)}, and is {_show(document, 'verdict')}"
        )
    if verdict == "refused":
        raise CertificateError(
            f"the document claims nothing: its position was refused ({_refusal(document)})"
        )
    claims = Claims(
        fen=fen,
        verdict=cast(_Verdict, verdict),
        moves=_moves(document, verdict),
        shortest=_field(document, "shortest", bool),
        within=_count(document, "within", 1),
        searched=_count(document, "searched", 0),
        keys=_ucis(document.get("keys"), "'keys'"),
        line=_texts(document.get("line"), "'line'"),
        tree=_tree(document.get("tree")),
        threats=_threats(document.get("threats", {})),
        delays=_ucis(document.get("delays", []), "'delays'"),
    )
    if document.get("stopped_by") not in _STOPS:
        raise CertificateError(
            f"'stopped_by' must be null, 'nodes' or 'seconds', and is "
            f"{_show(document, 'stopped_by')}"
        )
    for name in ("nodes", "budget"):
        if not 0 <= _field(document, name, int) < 1 << 63:
            raise CertificateError(f"'{name}' must be a count of nodes")
    _consistent(claims)
    return claims


def position_key(board: chess.Board) -> str:
    """FEN's first four fields, with an en-passant square only where such a capture is legal.

    >>> position_key(chess.Board())
    'rnbqkbnr/pppppppp/8/8/8/8/PPPPPPPP/RNBQKBNR w KQkq -'
    """
    en_passant = board.ep_square if board.ep_square and board.has_legal_en_passant() else None
    return "{} {} {} {}".format(
        placement(
            (board.pawns, board.knights, board.bishops, board.rooks, board.queens, board.kings),
            board.occupied_co[chess.WHITE],
        ),
        "w" if board.turn else "b",
        board.castling_xfen() if board.castling_rights else "-",
        "-" if en_passant is None else chess.SQUARE_NAMES[en_passant],
    )


def placement(kinds: tuple[int, int, int, int, int, int], white: int) -> str:
    """FEN's first field from bitboards: pawns, knights, bishops, rooks, queens, kings; White."""
    pawns, knights, bishops, rooks, queens, kings = kinds
    return "/".join(
        [
            _rank(
                pawns >> at & 255,
                knights >> at & 255,
                bishops >> at & 255,
                rooks >> at & 255,
                queens >> at & 255,
                kings >> at & 255,
                white >> at & 255,
            )
            for at in (56, 48, 40, 32, 24, 16, 8, 0)
        ]
    )


@lru_cache(maxsize=1 << 14)
def _rank(*masks: int) -> str:
    """One rank of FEN; the positions of a tree share most of theirs."""
    *kinds, white = masks
    squares = ["1"] * 8
    for letter, mask in zip("pnbrqk", kinds, strict=True):
        for file in range(8):
            if mask >> file & 1:
                squares[file] = letter.upper() if white >> file & 1 else letter
    text = "".join(squares)
    for empty in (8, 7, 6, 5, 4, 3, 2):
        text = text.replace("1" * empty, str(empty))
    return text


def _without_repeats(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) != len(pairs):
        seen: set[str] = set()
        twice = next(key for key, _ in pairs if key in seen or seen.add(key))  # type: ignore[func-returns-value]
        raise CertificateError(f"{twice[:90]!r} stands twice in one object of the proof document")
    return found


def _no_constant(name: str) -> None:
    raise CertificateError(f"the proof document has {name}, which is no number in JSON")


def _mapping(value: object, what: str) -> dict[str, Any]:
    if not isinstance(value, Mapping) or not all(isinstance(key, str) for key in value):
        raise CertificateError(f"{what} must be a JSON object, and is {_kind(value)}")
    return dict(value)


def _field(document: Mapping[str, Any], name: str, kind: type[_T]) -> _T:
    value = document.get(name)
    if not isinstance(value, kind) or (kind is int and isinstance(value, bool)):
        wanted = {str: "text", bool: "true or false", int: "a whole number"}[kind]
        raise CertificateError(f"'{name}' must be {wanted}, and is {_show(document, name)}")
    return value


def _count(document: Mapping[str, Any], name: str, least: int) -> int:
    value = _field(document, name, int)
    if not least <= value <= LONGEST:
        raise CertificateError(f"'{name}' must lie between {least} and {LONGEST}")
    return value


def _moves(document: Mapping[str, Any], verdict: str) -> int | None:
    if verdict in ("no mate", "undecided"):
        if document.get("moves") is not None:
            raise CertificateError(
                f"'moves' must be null where the verdict is {verdict!r}, and is "
                f"{_show(document, 'moves')}"
            )
        return None
    moves = _field(document, "moves", int)
    sign, low, high = (1, 1, LONGEST) if verdict == "mate" else (-1, -LONGEST, -1)
    if not 1 <= sign * moves <= LONGEST:
        raise CertificateError(f"'moves' must lie between {low} and {high} for {verdict!r}")
    return moves


def _texts(value: object, what: str) -> tuple[str, ...]:
    if not isinstance(value, (list, tuple)) or not all(isinstance(item, str) for item in value):
        raise CertificateError(f"{what} must be a list of moves as text, and is {_kind(value)}")
    return tuple(value)


def _ucis(value: object, what: str) -> tuple[str, ...]:
    moves = _texts(value, what)
    for text in moves:
        _uci(text, what)
    if len(set(moves)) != len(moves):
        raise CertificateError(f"{what} names a move twice")
    return moves


def _uci(text: str, what: str) -> None:
    try:
        good = bool(chess.Move.from_uci(text[:6])) and len(text) < 6 and "@" not in text
    except ValueError:
        good = False
    if not good:
        raise CertificateError(f"{what} has {text[:20]!r}, which is no move like e2e4 or e7e8q")


def _tree(value: object) -> dict[str, tuple[int, tuple[str, ...]]]:
    tree = {}
    for key, entry in _mapping(value, "'tree'").items():
        what = f"the tree's entry for {key[:90]!r}"
        if not isinstance(entry, (list, tuple)) or len(entry) < 2:
            raise CertificateError(f"{what} must be a list of a number and at least one move")
        moves = entry[0]
        if not isinstance(moves, int) or isinstance(moves, bool) or not 1 <= moves <= LONGEST:
            raise CertificateError(f"{what} must begin with a number from 1 to {LONGEST}")
        tree[key] = (moves, _ucis(list(entry[1:]), what))
    return tree


def _threats(value: object) -> dict[str, ThreatClaim]:
    threats = {}
    for key, entry in _mapping(value, "'threats'").items():
        what = f"the threat of {key[:20]!r}"
        _uci(key, "'threats'")
        threat = _mapping(entry, what)
        threats[key] = ThreatClaim(
            _count(threat, "moves", 1),
            _ucis(threat.get("keys"), f"{what}, 'keys',"),
            _texts(threat.get("line"), f"{what}, 'line',"),
        )
    return threats


def _consistent(claims: Claims) -> None:
    """Fields that contradict one another before any move is played."""
    keys_wanted = claims.verdict == "mate"
    if bool(claims.keys) != keys_wanted:
        raise CertificateError(
            f"a document whose verdict is {claims.verdict!r} must have "
            f"{'at least one key' if keys_wanted else 'no keys'}"
        )
    forced = claims.moves is not None
    if bool(claims.tree) != forced:
        raise CertificateError(
            f"a document whose verdict is {claims.verdict!r} must have "
            f"{'a tree' if forced else 'an empty tree'}"
        )
    if not forced and (claims.line or claims.shortest or claims.threats or claims.delays):
        raise CertificateError(
            f"a document whose verdict is {claims.verdict!r} has no line, threats or delays, "
            f"and 'shortest' is false"
        )
    if claims.moves is not None and claims.searched >= abs(claims.moves):
        raise CertificateError("'searched' must be less than the number of moves to mate")


def _refusal(document: Mapping[str, Any]) -> str:
    reason = document.get("reason")
    return reason[:200] if isinstance(reason, str) else "no reason given"


def _show(document: Mapping[str, Any], name: str) -> str:
    if name not in document:
        return "missing"
    value = document[name]
    if isinstance(value, str):
        return repr(value if len(value) <= 60 else value[:60] + "…")
    if isinstance(value, int) and abs(value) < 10**9:
        return json.dumps(value)
    return _kind(value)


def _kind(value: object) -> str:
    if value is None:
        return "missing or null"
    if isinstance(value, bool):
        return "true or false"
    kinds = ((Mapping, "an object"), ((list, tuple), "a list"), (str, "text"), (int, "a number"))
    for kind, name in kinds:
        if isinstance(value, kind):
            return name
    return "a number" if isinstance(value, float) else "something else"


def _brief(error: ValueError) -> str:
    return str(error).split("\n", 1)[0][:160]
