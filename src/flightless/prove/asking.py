"""The questions that other rooms ask: is it mate, in how many, and what about this move?

Plain functions from `chess.Board` to frozen data.  The compiled search is loaded when one of
them is called, so that refusing a position costs nothing.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import TYPE_CHECKING, Literal

import chess

from flightless.certify.brute import mating_moves
from flightless.errors import PositionError, UsageError
from flightless.positions import board_refusals
from flightless.prove.delays import delays
from flightless.prove.proof import Find, Proof, Threat, Verdict

if TYPE_CHECKING:
    from flightless.prove.build import Built
    from flightless.prove.engine import Engine
    from flightless.prove.sweep import Outcome

__all__ = [
    "DEFAULT_MEMORY",
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

DEFAULT_MEMORY = 128
"""Megabytes that the tables may take."""

_LEAST_MEMORY, _MOST_MEMORY = 1, 1 << 16
_FIND_NODES = 1_000_000
_FIND_TABLE = 8


def prove(
    board: chess.Board,
    within: int = 5,
    budget: int = DEFAULT_NODES,
    seconds: float | None = None,
    progress: Callable[[int, int], None] | None = None,
    *,
    threads: int = 1,
    memory: int = DEFAULT_MEMORY,
) -> Proof:
    """The shortest mate within `within` moves for or against the side to move.

    Full width: every move and every reply.  `budget` is in nodes (positions made); with one
    thread the same position and budget give the same proof.  A limit in `seconds` makes the
    answer depend on the machine, and the proof says so if it was reached.  A mate that is found
    before all shorter ones are refuted is given with `shortest` false if the budget ends.  Once
    a shortest mate is found, looking for all other keys may cost the budget again.  `progress`
    is told the number of moves being tried and the nodes so far, some five times a second.
    With two `threads` the verdict is the same if the budget suffices.  `memory` bounds the
    tables, in megabytes; with less, long searches repeat more work.

    Repetition and the fifty-move rule are left out of account, as is usual in mate problems.
    Raises `PositionError` for an illegal position or one in which the game is over, and
    `UsageError` for a limit that makes no sense.

    >>> proof = prove(chess.Board("6k1/5ppp/8/8/8/8/5PPP/4R1K1 w - - 0 1"))
    >>> proof.verdict, proof.moves, [key.uci() for key in proof.keys]
    ('mate', 1, ['e1e8'])
    """
    _refuse(board, within, budget)
    _refuse_limits(seconds, threads, memory)
    from flightless.prove.build import build_mate, build_mated
    from flightless.prove.engine import ATTACKS, Engine, state_of
    from flightless.prove.sweep import sweep

    root = state_of(board)
    Engine(1).search(root, 1, ATTACKS)  # loads the machine code before the clock runs
    deadline = None if seconds is None else time.monotonic() + seconds
    engine = Engine(within, memory=memory, progress=progress, deadline=deadline)
    found = sweep(
        engine, root, within, budget, threads=threads, progress=progress, deadline=deadline
    )
    limits = _Limits(within, budget, found.stopped_by_time)
    if found.mate is not None:
        built = build_mate(engine, root, found.mate, budget, shortest=found.shortest)
        return _mate(board, engine, built, limits, found)
    if found.mated is not None:
        built = build_mated(engine, root, found.mated, shortest=found.shortest)
        return _mated(board, engine, built, limits, found)
    verdict: Verdict = "no mate" if found.searched == within else "undecided"
    return _no_tree(board, engine, verdict, limits, found.searched)


def prove_by_checks(board: chess.Board, within: int = 5, budget: int = DEFAULT_NODES) -> Proof:
    """The shortest mate in which every move of the side to move gives check.

    The verdict is "mate", with `shortest` false beyond one move because quiet moves were not
    tried, or else "undecided".  Errors as for `prove`.
    """
    _refuse(board, within, budget)
    from flightless.prove.build import build_mate
    from flightless.prove.engine import ATTACKS, BY_CHECKS, Engine, state_of
    from flightless.prove.sweep import Outcome

    engine = Engine(within)
    root = state_of(board)
    engine.allow(budget)
    limits = _Limits(within, budget, False)
    for moves in range(1, within + 1):
        if engine.search(root, moves, ATTACKS | BY_CHECKS):
            built = build_mate(engine, root, moves, budget, by_checks=True)
            found = Outcome(moves, None, moves == 1, 0)
            return _mate(board, engine, built, limits, found)
        if engine.stopped:
            break
    return _no_tree(board, engine, "undecided", limits, 0)


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


def _refuse_limits(seconds: float | None, threads: int, memory: int) -> None:
    if seconds is not None and not seconds > 0:
        raise UsageError(f"the limit in seconds must be more than 0, and is {seconds}")
    if threads not in (1, 2):
        raise UsageError(f"the search runs in one thread or in two, not in {threads}")
    if not _LEAST_MEMORY <= memory <= _MOST_MEMORY:
        raise UsageError(
            f"the memory must lie between {_LEAST_MEMORY} and {_MOST_MEMORY} megabytes, "
            f"and is {memory}"
        )


@dataclass(frozen=True, slots=True)
class _Limits:
    within: int
    budget: int
    out_of_time: bool

    def stopped_by(self, engine: Engine) -> Literal["nodes", "seconds"]:
        return "seconds" if self.out_of_time or engine.out_of_time else "nodes"


def _no_tree(
    board: chess.Board, engine: Engine, verdict: Verdict, limits: _Limits, searched: int
) -> Proof:
    return Proof(
        fen=board.fen(),
        verdict=verdict,
        moves=None,
        shortest=False,
        within=limits.within,
        nodes=engine.nodes,
        budget=limits.budget,
        searched=searched,
        stopped_by=limits.stopped_by(engine) if verdict == "undecided" else None,
    )


def _mate(
    board: chess.Board, engine: Engine, built: Built, limits: _Limits, found: Outcome
) -> Proof:
    key = built.keys[0]
    put_off = delays(board, key, built.threats.get(key), built.tree, built.distance)
    proof = _with_tree(board, engine, built, limits, found)
    return replace(proof, verdict="mate", moves=built.moves, keys=built.keys, delays=put_off)


def _mated(
    board: chess.Board, engine: Engine, built: Built, limits: _Limits, found: Outcome
) -> Proof:
    proof = _with_tree(board, engine, built, limits, found)
    return replace(proof, verdict="mated", moves=-built.moves)


def _with_tree(
    board: chess.Board, engine: Engine, built: Built, limits: _Limits, found: Outcome
) -> Proof:
    """The proof but for its verdict; a tree may take fewer moves than the search asked for."""
    shortest = found.shortest or found.searched == built.moves - 1
    complete = found.shortest and "keys" not in built.left_open
    return Proof(
        fen=board.fen(),
        verdict="undecided",
        moves=None,
        shortest=shortest,
        within=limits.within,
        line=built.line,
        nodes=engine.nodes,
        budget=limits.budget,
        searched=found.searched,
        stopped_by=None if complete else limits.stopped_by(engine),
        tree=MappingProxyType(built.tree),
        distance=MappingProxyType(built.distance),
        threats=MappingProxyType(built.threats),
        left_open=built.left_open,
    )
