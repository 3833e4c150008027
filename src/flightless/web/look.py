"""What a page says of one position, and of the same position with something changed.

The sentences are those of `words/`, the drawings those of `draw/`; here they are put side by
side, and the sentences that a change made new are found.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

import chess
from markupsafe import Markup

from flightless.cases.build import case_of
from flightless.cases.case import Case
from flightless.cases.missing import NearMate, missing_of
from flightless.draw.marks import EVERY_ROLE, Marks, marks_of
from flightless.errors import PositionError
from flightless.explain import Explanation, explain, final_board
from flightless.patterns.own import own_catalogue
from flightless.patterns.recognise import Name, names
from flightless.positions import board_refusals, read_position
from flightless.prove import prove
from flightless.prove.proof import Proof
from flightless.web.figures import Table, diagram, near_marks, table_of_case, table_of_near
from flightless.words.account import Account
from flightless.words.explain import account, account_of_missing

__all__ = ["Look", "board_of", "castling_of", "change", "explained", "looked", "loose_board"]

_WITHIN = 5
_QUICK = 2
"""Mates up to this length are looked for while a hand still holds the man."""

_NODES = 2_000_000


@dataclass(frozen=True, slots=True)
class Look:
    """One position as a what-if shows it.

    `marked` is the position whose ledger stands beside it: the position itself, or the end of
    the main line.  `account` tells it all; `table` and `names` belong to `marked`.
    """

    board: chess.Board
    marked: chess.Board
    marks: Marks
    account: Account
    table: Table
    names: tuple[Name, ...]
    verdict: str


def board_of(text: str) -> chess.Board:
    """The board of a FEN in an address, counted from move one.  Raises `PositionError`."""
    board = read_position(text).board
    board.fullmove_number, board.halfmove_clock = 1, 0
    return board


def loose_board(text: str) -> tuple[chess.Board, list[str]]:
    """Men on squares that need not be a position yet, and what is missing for that."""
    fields = text.split()
    if not fields or len(text) > 120:
        raise PositionError("there are no men to set up: the squares are missing")
    board = chess.Board(None)
    try:
        board.set_board_fen(fields[0])
    except ValueError as error:
        raise PositionError(f"the men cannot be set up: {error}") from None
    board.turn = len(fields) < 2 or fields[1] != "b"
    return board, board_refusals(board)


def castling_of(board: chess.Board, text: str) -> None:
    """Give a board the castling rights that `text` asks for, as far as king and rook stand there
    (FIDE Laws, 3.8.2)."""
    fields = text.split()
    asked = "".join(sign for sign in "KQkq" if len(fields) > 2 and sign in fields[2])
    board.set_castling_fen(asked or "-")
    board.castling_rights = board.clean_castling_rights()


@lru_cache(maxsize=64)
def _explained(fen: str) -> Explanation:
    return explain(chess.Board(fen), _WITHIN, _NODES)


def explained(board: chess.Board) -> Explanation:
    """Everything about a position, kept for the next page that asks."""
    return _explained(board.fen())


@lru_cache(maxsize=256)
def _looked(fen: str, within: int) -> Look:
    board = chess.Board(fen)
    if board.is_checkmate():
        return _of_case(board, None, case_of(board))
    proof: Proof | None = None
    if not board.is_stalemate():
        proof = prove(board, within, _NODES)
        end = final_board(board, proof)
        if end is not None:
            return _of_case(board, proof, case_of(end))
    return _of_near(board, proof, missing_of(board))


def looked(board: chess.Board, within: int = _QUICK) -> Look:
    """The position looked at quickly."""
    return _looked(board.fen(), within)


def _of_case(board: chess.Board, proof: Proof | None, case: Case) -> Look:
    found = names(case, own_catalogue())
    told = account(proof, case, found)
    verdict = told.section("verdict")
    return Look(
        board,
        case.board,
        marks_of(case, EVERY_ROLE),
        told,
        table_of_case(case),
        found,
        verdict[0] if verdict else "Mate.",
    )


def _of_near(board: chess.Board, proof: Proof | None, near: NearMate) -> Look:
    # In check, what matters is the answer; that he himself has no mate is of no use in class.
    told = account_of_missing(near, None if near.kind == "check" else proof)
    if near.kind == "check":
        verdict = "No mate: the check can be answered."
    elif near.kind == "stalemate":
        verdict = "Stalemate."
    else:
        verdict = told.sentences[0] if told.sentences else "No mate."
    return Look(board, board, near_marks(near), told, table_of_near(near), (), verdict)


def change(before: chess.Board, after: chess.Board) -> tuple[Look, Look, tuple[str, ...]]:
    """Both positions looked at, and the sentences that the change made new."""
    within = _QUICK
    old = explained(before)
    if old.proof is not None and old.proof.moves is not None:
        within = max(within, min(abs(old.proof.moves), _WITHIN))
    first, second = looked(before, within), looked(after, within)
    if first.board.is_checkmate() and not second.board.is_check() and before.turn == after.turn:
        second = replace(second, verdict="No mate: there is no check.")
        return first, second, ()
    known = {*first.account.sentences, *second.account.section("verdict")}
    # What lets him out comes before what has stayed much as it was.
    ordered = (*second.account.section("wrong"), *second.account.sentences)
    new = tuple(dict.fromkeys(s for s in ordered if s not in known))
    return first, second, new


def drawn(look: Look, perspective: chess.Color) -> Markup:
    """The diagram of what was asked, with marks where it is the position that they belong to."""
    marks = look.marks if look.marked.board_fen() == look.board.board_fen() else None
    return diagram(look.board, marks, perspective=perspective)
