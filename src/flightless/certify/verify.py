"""Replay a proof document with python-chess alone and say what holds, or where it fails.

The verifier trusts nothing in the document but its shape: it plays every move of the tree,
looks at every legal reply, and searches short claims itself.  It shares no code with the
prover.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import chess

from flightless.certify import brute
from flightless.certify.document import Claims, ThreatClaim, claims_of, position_key
from flightless.errors import CertificateError, PositionError
from flightless.positions import read_position

__all__ = ["Verification", "verify"]


@dataclass(frozen=True, slots=True)
class Verification:
    """What became of a document's claims.

    `ok` is False if any claim failed.  `checked` and `unchecked` name the claims that were
    verified and those left open ("mate", "mated", "no mate", "shortest", "keys", "line",
    "threats", "duals", "delays").  `sentences` say it in words, the failure first if there is
    one; `where` is the line of SAN from the document's position to the failure (empty if it
    lies at the root, or if all is well).
    """

    ok: bool
    checked: tuple[str, ...]
    unchecked: tuple[str, ...]
    sentences: tuple[str, ...]
    where: tuple[str, ...] = ()
    positions: int = 0
    """Positions of the tree that were replayed, each once."""


class _Fails(Exception):  # noqa: N818  (a finding that never leaves this module)
    """A claim that does not hold: the moves played to get there, and a clause."""

    def __init__(self, moves: list[chess.Move], clause: str) -> None:
        super().__init__(clause)
        self.moves = moves
        self.clause = clause


@dataclass(slots=True)
class _Ledger:
    checked: list[str] = field(default_factory=list)
    unchecked: list[str] = field(default_factory=list)
    sentences: list[str] = field(default_factory=list)
    positions: int = 0


def verify(document: Mapping[str, Any]) -> Verification:
    """Check every claim of a proof document that can be checked without trusting it.

    The tree of a mate is replayed whole: at the mating side's turns the given moves, at the
    defender's turns every legal reply, at the ends checkmate within the claimed number.
    Shortness, the completeness of the keys, 'no mate' and threats are searched for
    exhaustively up to two moves; beyond that the result says that they were not checked.
    Raises `CertificateError` if the document is malformed or its position is illegal.
    """
    claims = claims_of(document)
    board = _root(claims)
    ledger = _Ledger()
    try:
        if claims.verdict == "mate":
            _check_mate(claims, board, ledger)
        elif claims.verdict == "mated":
            _check_mated(claims, board, ledger)
        else:
            _check_none(claims, board, ledger)
    except _Fails as failure:
        where, sentence = _located(_root(claims), failure)
        sentences = (sentence, *ledger.sentences)
        return Verification(False, tuple(ledger.checked), (), sentences, where, ledger.positions)
    return Verification(
        True,
        tuple(ledger.checked),
        tuple(ledger.unchecked),
        tuple(ledger.sentences),
        (),
        ledger.positions,
    )


def _root(claims: Claims) -> chess.Board:
    try:
        board = read_position(claims.fen).board
    except PositionError as error:
        raise CertificateError(f"'fen' is no legal position: {error}") from None
    if not any(board.legal_moves):
        raise CertificateError(f"the game is over in the document's position: {claims.fen!r}")
    return board


# -- mate and mated -------------------------------------------------------------------------


def _check_mate(claims: Claims, board: chess.Board, ledger: _Ledger) -> None:
    moves = claims.moves or 0
    entry = claims.tree.get(position_key(board))
    if entry is None:
        raise _Fails([], "the position itself is not in the tree")
    if entry[0] != moves:
        raise _Fails([], f"'moves' says mate in {moves} and the tree mate in {entry[0]}")
    if entry[1] != claims.keys:
        raise _Fails([], "'keys' and the tree differ on the first moves")
    _replay(claims, board, ledger, "mate")
    _check_line(claims, board, 2 * moves - 1)
    ledger.checked.append("line")
    mate = f"mate in {moves} verified" if moves <= brute.REACH else "mate verified"
    if not claims.shortest:
        ledger.unchecked.append("shortest")
        ledger.sentences.append(f"{mate}; a shorter mate is not ruled out")
    elif moves <= brute.REACH:
        _shortest_and_keys(claims, board, moves)
        ledger.checked += ["shortest", "keys"]
        ledger.sentences.append(f"{mate}; no mate is shorter and no other first move does it")
    else:
        ledger.unchecked += ["shortest", "keys"]
        ledger.sentences.append(f"{mate}; shortness not independently checked")
    _say_positions(ledger)
    _check_threats(claims, board, ledger)
    _check_delays(claims, board)


def _check_mated(claims: Claims, board: chess.Board, ledger: _Ledger) -> None:
    moves = -(claims.moves or 0)
    _replay(claims, board, ledger, "mated")
    _check_line(claims, board, 2 * moves)
    ledger.checked.append("line")
    if not claims.shortest:
        ledger.unchecked.append("shortest")
        ledger.sentences.append("mate verified; a shorter mate is not ruled out")
    elif moves <= brute.REACH:
        if brute.mated_within(board, moves - 1):
            raise _Fails([], f"the side to move is mated in {moves - 1} already")
        ledger.checked.append("shortest")
        ledger.sentences.append(f"mated in {moves} verified; it cannot be done sooner")
    else:
        ledger.unchecked.append("shortest")
        ledger.sentences.append("mate verified; shortness not independently checked")
    _say_positions(ledger)


def _say_positions(ledger: _Ledger) -> None:
    places = "1 position" if ledger.positions == 1 else f"{ledger.positions} positions"
    ledger.sentences.append(f"{places} replayed against every defence")


def _shortest_and_keys(claims: Claims, board: chess.Board, moves: int) -> None:
    sooner = brute.mating_moves(board) if moves > 1 else []
    if sooner:
        raise _Fails([sooner[0]], "this is mate already, sooner than the document claims")
    found = {move.uci() for move in brute.keys_within(board, moves)}
    missing = sorted(found - set(claims.keys))
    if missing:
        move = chess.Move.from_uci(missing[0])
        raise _Fails([move], f"this mates in {moves} too, and the keys leave it out")


def _replay(claims: Claims, board: chess.Board, ledger: _Ledger, claim: str) -> None:
    replay = _Replay(claims, board)
    replay.run(claims, board)
    ledger.positions = len(replay.came_from)
    ledger.checked.append(claim)
    if replay.duals_open:
        ledger.unchecked.append("duals")


class _Replay:
    """A walk over the tree from the root, each position once, without recursion.

    Distances fall along every line, so no cycle can hide in the document.
    """

    def __init__(self, claims: Claims, board: chess.Board) -> None:
        self.tree = claims.tree
        self.root = position_key(board)
        self.duals_open = False
        self.came_from: dict[str, tuple[str | None, tuple[chess.Move, ...]]] = {}
        self.waiting: list[tuple[chess.Board, str]] = []

    def run(self, claims: Claims, board: chess.Board) -> None:
        board = board.copy(stack=False)
        if claims.verdict == "mate":
            self._note(board, self.root, None, ())
        else:
            longest = self._replies(board, None, (), -(claims.moves or 0) + 1, follow=True)
            if longest != -(claims.moves or 0):
                raise _Fails(
                    [],
                    f"'moves' says mated in {-(claims.moves or 0)} and the tree mated in {longest}",
                )
        while self.waiting:
            self._position(*self.waiting.pop())
        unreached = next((key for key in self.tree if key not in self.came_from), None)
        if unreached is not None:
            raise _Fails([], f"no line of the proof reaches the tree's {unreached[:90]!r}")

    def _note(
        self, board: chess.Board, key: str, parent: str | None, moves: tuple[chess.Move, ...]
    ) -> None:
        self.came_from[key] = (parent, moves)
        self.waiting.append((board.copy(stack=False), key))

    def _position(self, board: chess.Board, key: str) -> None:
        """The given moves of one position where the mating side moves."""
        distance, texts = self.tree[key]
        for number, text in enumerate(texts):
            move = chess.Move.from_uci(text)
            if not board.is_legal(move):
                raise self._fails(key, (), f"{text} is not a legal move here")
            follow = number == 0 or key == self.root
            board.push(move)
            longest = 1 + self._replies(board, key, (move,), distance, follow=follow)
            board.pop()
            if number == 0 and longest != distance:
                raise self._fails(
                    key,
                    (),
                    f"the tree says mate in {distance} here, and its moves mate in {longest}",
                )

    def _replies(
        self,
        board: chess.Board,
        key: str | None,
        moves: tuple[chess.Move, ...],
        distance: int,
        *,
        follow: bool,
    ) -> int:
        """Look at every reply; the longest distance among them, 0 for checkmate."""
        replies = list(board.legal_moves)
        if not replies and not board.is_check():
            raise self._fails(key, moves, "this is stalemate")
        if replies and distance == 1:
            answer = board.san(replies[0])
            raise self._fails(key, moves, f"this should be mate, and {answer} is a legal reply")
        longest = 0
        for reply in replies:
            board.push(reply)
            after = position_key(board)
            entry = self.tree.get(after)
            if entry is None:
                if follow:
                    raise self._fails(key, (*moves, reply), "the tree has no answer to this reply")
                self._dual(board, key, (*moves, reply), distance - 1)
            elif entry[0] >= distance:
                raise self._fails(
                    key,
                    (*moves, reply),
                    f"the tree mates only in {entry[0]} from here, with {distance - 1} left",
                )
            else:
                longest = max(longest, entry[0])
                if follow and after not in self.came_from:
                    self._note(board, after, key, (*moves, reply))
            board.pop()
        return longest

    def _dual(
        self, board: chess.Board, key: str | None, moves: tuple[chess.Move, ...], left: int
    ) -> None:
        """A second solution's position that the tree does not follow: search it if short."""
        if left >= brute.REACH:  # the dual and what follows are more than the search reaches
            self.duals_open = True
        elif not brute.has_mate_within(board, left):
            raise self._fails(key, moves, f"after this reply there is no mate in {left}")

    def _fails(self, key: str | None, moves: tuple[chess.Move, ...], clause: str) -> _Fails:
        line = list(moves)
        while key is not None:
            key, before = self.came_from[key]
            line[:0] = before
        return _Fails(line, clause)


# -- the claims beside the tree -------------------------------------------------------------


def _check_line(claims: Claims, board: chess.Board, plies: int) -> None:
    """The main line is legal, keeps to the tree, and ends in mate after `plies` half-moves."""
    board = board.copy(stack=False)
    attacker = board.turn if claims.verdict == "mate" else not board.turn
    played: list[chess.Move] = []
    for text in claims.line:
        try:
            move = board.parse_san(text)
        except ValueError:
            raise _Fails(played, f"the line's next move {text[:20]!r} is not legal") from None
        if board.turn == attacker:
            entry = claims.tree.get(position_key(board))
            if entry is None or move.uci() not in entry[1]:
                raise _Fails(played, f"the line's next move {text} is not a move of the tree")
        played.append(move)
        board.push(move)
    if not board.is_checkmate():
        raise _Fails(played, "the line ends here without mate")
    if len(played) != plies:
        raise _Fails(
            played, f"the line has {len(played)} half-moves, and the longest defence takes {plies}"
        )


def _check_threats(claims: Claims, board: chess.Board, ledger: _Ledger) -> None:
    board = board.copy(stack=False)
    for text, threat in claims.threats.items():
        key = chess.Move.from_uci(text)
        if text not in claims.keys:
            raise _Fails([], f"a threat is given for {text}, which is no key")
        board.push(key)
        if board.is_check():
            raise _Fails([key], "a threat is given for a check, and no one passes in check")
        board.push(chess.Move.null())
        clause = _threat_fault(board, threat)
        board.pop()
        board.pop()
        if clause:
            raise _Fails([key], clause)
        where = ledger.checked if threat.moves <= brute.REACH else ledger.unchecked
        if "threats" not in where:
            where.append("threats")


def _threat_fault(board: chess.Board, threat: ThreatClaim) -> str | None:
    """What is wrong with a threat, on the board after the pass."""
    line = board.copy(stack=False)
    first = None
    for text in threat.line:
        try:
            move = line.push_san(text)
        except ValueError:
            return f"the threat's move {text[:20]!r} is not legal"
        first = first or move.uci()
    if not line.is_checkmate() or len(threat.line) != 2 * threat.moves - 1:
        return f"the threat's line does not end in mate in {threat.moves}"
    if first not in threat.keys:
        return f"the threat's line begins with {first}, which its keys leave out"
    if threat.moves > brute.REACH:
        return None
    if threat.moves > 1 and brute.mating_moves(board):
        return "the threat is mate in one, shorter than the document claims"
    found = {move.uci() for move in brute.keys_within(board, threat.moves)}
    if found != set(threat.keys):
        differing = sorted(found ^ set(threat.keys))
        return f"the threat's keys are wrong about {', '.join(differing)}"
    return None


def _check_delays(claims: Claims, board: chess.Board) -> None:
    """Delaying defences must be legal replies to the first key that last to the full length."""
    board = board.copy(stack=False)
    key = chess.Move.from_uci(claims.keys[0])
    board.push(key)
    for text in claims.delays:
        reply = chess.Move.from_uci(text)
        if not board.is_legal(reply):
            raise _Fails([key], f"the delaying move {text} is not legal here")
        board.push(reply)
        entry = claims.tree.get(position_key(board))
        board.pop()
        if entry is None or entry[0] != (claims.moves or 0) - 1:
            raise _Fails([key, reply], "a delaying move must last to the full length")


def _check_none(claims: Claims, board: chess.Board, ledger: _Ledger) -> None:
    """'No mate', or how far an undecided search got: searched again up to two moves."""
    if claims.verdict == "no mate" and claims.searched != claims.within:
        raise _Fails([], "the verdict is 'no mate' and yet the search did not get to the end")
    reach = min(claims.searched, brute.REACH)
    if reach:
        found = brute.keys_within(board, reach)
        if found:
            raise _Fails([found[0]], f"this mates in {reach} at most")
        if brute.mated_within(board, reach):
            raise _Fails([], f"the side to move is mated in {reach} at most, whatever it plays")
    if claims.searched <= brute.REACH:
        if claims.verdict == "no mate":
            ledger.checked.append("no mate")
            ledger.sentences.append(f"no mate within {claims.within} verified")
    else:
        ledger.unchecked.append("no mate")
        ledger.sentences.append(
            f"no mate within {reach} verified; no mate within {claims.searched} not "
            f"independently checked"
        )
    if claims.verdict == "undecided":
        ledger.sentences.append("the document leaves the question open")


def _located(board: chess.Board, failure: _Fails) -> tuple[tuple[str, ...], str]:
    """The line of SAN to a failure, and the sentence that says where and what."""
    if not failure.moves:
        return (), f"in the document's position: {failure.clause}"
    text = board.variation_san(failure.moves)
    line = tuple([board.san_and_push(move) for move in failure.moves])
    return line, f"after {text}: {failure.clause}"
