"""The questions that other rooms ask: is it mate, in how many, and what about this move?

Plain functions from `chess.Board` to frozen data.  The compiled search is loaded when one of
them is called, so that refusing a position costs nothing.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from types import MappingProxyType
from typing import TYPE_CHECKING, Literal

import chess

from flightless.certify.brute import mating_moves
from flightless.errors import PositionError, UsageError
from flightless.positions import board_refusals
from flightless.prove.delays import delays
from flightless.prove.proof import Find, Proof, Threat

if TYPE_CHECKING:
    from flightless.prove.build import Built
    from flightless.prove.engine import Engine

__all__ = [
    "DEFAULT_NODES",
    "LONGEST",
    "distance_after",
    "mate_in_one_keys",
    "prove",
    "prove_by_checks",
    "refutations",
    "shortest_mate",
    "threat_of",
]

DEFAULT_NODES = 50_000_000
"""The usual budget: some seconds."""

LONGEST = 200
"""The longest mate, in moves, that may be asked for."""

_FIND_NODES = 1_000_000
_FIND_TABLE = 8


def prove(
    board: chess.Board,
    within: int = 5,
    budget: int = DEFAULT_NODES,
    seconds: float | None = None,
    progress: Callable[[int, int], None] | None = None,
) -> Proof:
    """The shortest mate within `within` moves for or against the side to move.

    Full width: every move and every reply, lengths tried one after the other.  `budget` is in
    nodes (positions made); the same position and budget give the same proof.  A limit in
    `seconds` makes the answer depend on the machine, and the proof says so if it was reached.
    Once a mate is found, looking for all other keys may cost the budget again.  `progress` is
    told the number of moves being tried and the nodes so far, some five times a second.

    Repetition and the fifty-move rule are left out of account, as is usual in mate problems.
    Raises `PositionError` for an illegal position or one in which the game is over, and
    `UsageError` for a limit that makes no sense.

    >>> proof = prove(chess.Board("6k1/5ppp/8/8/8/8/5PPP/4R1K1 w - - 0 1"))
    >>> proof.verdict, proof.moves, [key.uci() for key in proof.keys]
    ('mate', 1, ['e1e8'])
    """
    started = time.monotonic()
    _refuse(board, within, budget)
    if seconds is not None and not seconds > 0:
        raise UsageError(f"the limit in seconds must be more than 0, and is {seconds}")
    from flightless.prove.engine import ATTACKS, DEFENDS, Engine, state_of

    deadline = None if seconds is None else started + seconds
    engine = Engine(within, progress=progress, deadline=deadline)
    root = state_of(board)
    engine.allow(budget)
    for moves in range(1, within + 1):
        if engine.search(root, moves, ATTACKS):
            return _mate(board, engine, moves, within, budget)
        mated = not engine.stopped and not engine.search(root, moves, DEFENDS)
        if engine.stopped:
            return _no_tree(board, engine, "undecided", within, budget, moves - 1)
        if mated:
            return _mated(board, engine, moves, within, budget)
    return _no_tree(board, engine, "no mate", within, budget, within)


def prove_by_checks(board: chess.Board, within: int = 5, budget: int = DEFAULT_NODES) -> Proof:
    """The shortest mate in which every move of the side to move gives check.

    The verdict is "mate", with `shortest` false beyond one move because quiet moves were not
    tried, or else "undecided".  Errors as for `prove`.
    """
    _refuse(board, within, budget)
    from flightless.prove.engine import ATTACKS, BY_CHECKS, Engine, state_of

    engine = Engine(within)
    root = state_of(board)
    engine.allow(budget)
    for moves in range(1, within + 1):
        if engine.search(root, moves, ATTACKS | BY_CHECKS):
            return _mate(board, engine, moves, within, budget, by_checks=True)
        if engine.stopped:
            break
    return _no_tree(board, engine, "undecided", within, budget, 0)


def shortest_mate(
    board: chess.Board, full: int = 2, checks: int = 5, budget: int = _FIND_NODES
) -> Find:
    """A quick look without a tree: full width to `full` moves, checks alone to `checks`.

    Some tens of microseconds where there is nothing; the board is taken to be legal and not
    over.  `budget` is in nodes and bounds the search and the keys together.
    """
    from flightless.core.state import move_to_chess
    from flightless.prove.engine import ATTACKS, BY_CHECKS, Engine, state_of

    engine = Engine(max(full, checks), bits=_FIND_TABLE)
    root = state_of(board)
    engine.allow(budget)
    moves, by_checks = engine.shortest(root, full, checks)
    if not moves:
        return Find(None, nodes=engine.nodes, exhausted=engine.stopped)
    keys = engine.solutions(root, moves, ATTACKS | BY_CHECKS if by_checks else ATTACKS)
    return Find(
        moves,
        tuple(map(move_to_chess, keys)),
        "checks" if by_checks else "full",
        engine.nodes,
        engine.stopped,
    )


def mate_in_one_keys(board: chess.Board) -> tuple[chess.Move, ...]:
    """Every move that mates at once, by UCI text.  Loads nothing compiled."""
    return tuple(sorted(mating_moves(board), key=chess.Move.uci))


def distance_after(board: chess.Board, move: chess.Move, within: int) -> int | None:
    """The number of moves to mate if `move` is played, itself counted; None beyond `within`.

    `move` must be legal for the side that wants to mate.
    """
    from flightless.prove.engine import DEFENDS, Engine, state_of

    after = _after(board, move)
    engine = Engine(within)
    state = state_of(after)
    for left in range(within):
        if not engine.search(state, left, DEFENDS):
            return left + 1
    return None


def refutations(board: chess.Board, move: chess.Move, within: int) -> tuple[chess.Move, ...]:
    """Every reply to `move` after which there is no mate within `within`, `move` counted.

    By UCI text; none if `move` keeps the mate (or if it stalemates).
    """
    from flightless.core.state import move_to_chess
    from flightless.prove.engine import Engine, state_of

    after = _after(board, move)
    rows = Engine(within).replies(state_of(after), within - 1)
    holding = [move_to_chess(reply) for _, distance, reply in rows if not distance]
    return tuple(sorted(holding, key=chess.Move.uci))


def threat_of(board: chess.Board, within: int) -> Threat | None:
    """What the side *not* to move threatens: its shortest mate within `within` after a pass.

    Raises `PositionError` if the side to move is in check and so cannot pass.
    """
    if board.is_check():
        raise PositionError(f"a side in check cannot pass: {board.fen()}")
    from flightless.prove.build import threat_after_pass
    from flightless.prove.engine import Engine, state_of

    return threat_after_pass(Engine(within), state_of(board), within)


# -- what stands between a question and its answer ---------------------------------------------


def _refuse(board: chess.Board, within: int, budget: int) -> None:
    if not 1 <= within <= LONGEST:
        raise UsageError(f"the number of moves must lie between 1 and {LONGEST}, and is {within}")
    if budget < 1:
        raise UsageError(f"the budget must be at least one node, and is {budget}")
    reasons = board_refusals(board)
    if reasons:
        raise PositionError("; ".join(reasons) + f": {board.fen()}")
    if any(board.legal_moves):
        return
    side = "White" if board.turn else "Black"
    if board.is_check():
        raise PositionError(f"{side} is already mated: {board.fen()}")
    raise PositionError(
        f"it is stalemate: {side} has no legal move and is not in check: {board.fen()}"
    )


def _after(board: chess.Board, move: chess.Move) -> chess.Board:
    if not board.is_legal(move):
        raise PositionError(f"{move.uci()} is not a legal move in {board.fen()}")
    after = board.copy(stack=False)
    after.push(move)
    return after


def _stopped_by(engine: Engine) -> Literal["nodes", "seconds"]:
    return "seconds" if engine.out_of_time else "nodes"


def _no_tree(
    board: chess.Board,
    engine: Engine,
    verdict: Literal["no mate", "undecided"],
    within: int,
    budget: int,
    searched: int,
) -> Proof:
    return Proof(
        fen=board.fen(),
        verdict=verdict,
        moves=None,
        shortest=False,
        within=within,
        nodes=engine.nodes,
        budget=budget,
        searched=searched,
        stopped_by=_stopped_by(engine) if engine.stopped else None,
    )


def _mate(
    board: chess.Board,
    engine: Engine,
    moves: int,
    within: int,
    budget: int,
    *,
    by_checks: bool = False,
) -> Proof:
    from flightless.prove.build import build_mate
    from flightless.prove.engine import state_of

    built = build_mate(engine, state_of(board), moves, budget, by_checks=by_checks)
    if by_checks and moves > 1 and "keys" not in built.left_open:
        built.left_open = ("keys", *built.left_open)
    key = built.keys[0]
    return _with_tree(
        board,
        engine,
        built,
        moves,
        within,
        budget,
        shortest=moves == 1 or not by_checks,
        put_off=delays(board, key, built.threats.get(key), built.tree, built.distance),
    )


def _mated(board: chess.Board, engine: Engine, moves: int, within: int, budget: int) -> Proof:
    from flightless.prove.build import build_mated
    from flightless.prove.engine import state_of

    built = build_mated(engine, state_of(board), moves)
    return _with_tree(board, engine, built, -moves, within, budget, shortest=True, put_off=())


def _with_tree(
    board: chess.Board,
    engine: Engine,
    built: Built,
    moves: int,
    within: int,
    budget: int,
    *,
    shortest: bool,
    put_off: tuple[chess.Move, ...],
) -> Proof:
    return Proof(
        fen=board.fen(),
        verdict="mate" if moves > 0 else "mated",
        moves=moves,
        shortest=shortest,
        within=within,
        keys=built.keys,
        line=built.line,
        nodes=engine.nodes,
        budget=budget,
        searched=abs(moves) - 1 if shortest else 0,
        stopped_by="seconds" if engine.out_of_time else None,
        tree=MappingProxyType(built.tree),
        distance=MappingProxyType(built.distance),
        threats=MappingProxyType(built.threats),
        delays=put_off,
        left_open=built.left_open,
    )
