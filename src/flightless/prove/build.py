"""From a decided position to a proof: keys, tree, main line, threats.

Uses the compiled search through an `Engine`; what the search may cost and what is asked of it
is decided in `asking`.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from typing import TypeVar

import chess
import numpy as np

from flightless.certify.document import placement
from flightless.core.state import State, decode, move_to_chess
from flightless.prove.engine import ATTACKS, BY_CHECKS, Engine, Row, after_pass, gives_check
from flightless.prove.proof import Open, Threat

__all__ = ["Built", "build_mate", "build_mated", "position_text", "threat_after_pass"]

_T = TypeVar("_T")

_DUAL_NODES = 200_000
"""Looking for duals and exact lengths in the tree may always cost this many nodes, and never
more than the search did if that was more: they are a courtesy, the mate is the point."""


@dataclass(slots=True)
class Built:
    """The parts of a proof that come from its tree; `moves` is the length that it takes."""

    moves: int
    keys: tuple[chess.Move, ...] = ()
    line: tuple[chess.Move, ...] = ()
    tree: dict[str, tuple[chess.Move, ...]] = field(default_factory=dict)
    distance: dict[str, int] = field(default_factory=dict)
    threats: dict[chess.Move, Threat] = field(default_factory=dict)
    left_open: tuple[Open, ...] = ()


def build_mate(
    engine: Engine,
    root: State,
    moves: int,
    budget: int,
    *,
    shortest: bool = True,
    by_checks: bool = False,
) -> Built:
    """Everything about a mate that the engine has found within `moves`.

    `shortest`: there is none in fewer (by checks, if so wanted); then all keys are looked for,
    which may cost `budget` nodes once more.  Otherwise one is enough, and the tree may turn
    out shorter.
    """
    tree = _Tree(engine, ATTACKS | BY_CHECKS if by_checks else ATTACKS, exact=shortest)
    engine.allow(None)
    keys = [engine.search(root, moves, tree.side)]
    complete = shortest
    if shortest:
        engine.allow(budget)
        found = engine.solutions(root, moves, tree.side)
        complete = not engine.stopped
        keys = found if complete else list(dict.fromkeys(found + keys))
    if not complete:
        tree.open.append("keys")
    node = tree.grow(root, moves, keys)
    line = [move_to_chess(keys[0]), *_line(tree, engine.after(root, keys[0]), node.replies)]
    built = tree.built(line, node.distance)
    built.keys = tuple(map(move_to_chess, keys))
    if not by_checks:
        nodes = max(_DUAL_NODES, engine.nodes) if shortest else _DUAL_NODES
        built.threats = _threats(tree, root, node.distance, keys, nodes)
    built.left_open = tree.left_open()
    return built


def build_mated(engine: Engine, root: State, moves: int, *, shortest: bool = True) -> Built:
    """Everything about a position whose side to move is mated within `moves`."""
    tree = _Tree(engine, ATTACKS, exact=shortest)
    replies = tree.grow_defended(root, moves)
    longest = max(tree.nodes[position].distance for _, position in replies)
    built = tree.built(_line(tree, root, replies), longest)
    built.left_open = tree.left_open()
    return built


def threat_after_pass(engine: Engine, defender: State, most: int) -> Threat | None:
    """The shortest mate within `most` moves if the side to move passes, or None.

    The side to move must not be in check.  None also if the engine's limit stopped it.
    """
    state = after_pass(defender)
    for moves in range(1, most + 1):
        if engine.search(state, moves, ATTACKS):
            keys = engine.solutions(state, moves)
            if engine.stopped:
                return None
            line = _shortest_line(engine, state, moves)
            return Threat(moves, tuple(map(move_to_chess, keys)), line)
        if engine.stopped:
            return None
    return None


def position_text(state: State) -> str:
    """FEN's first four fields, the en-passant square only where the capture is legal."""
    p0, p1, p2, white, flags, _ = map(int, state)
    square = flags >> 8 & 63
    if square and not decode(state).has_legal_en_passant():
        square = 0
    kinds = (
        p2 & ~(p0 | p1),
        p2 & p0,
        p0 & ~(p1 | p2),
        p1 & ~(p0 | p2),
        p0 & p1,
        p1 & p2,
    )
    rights = "".join(letter for bit, letter in enumerate("KQkq", 1) if flags >> bit & 1)
    return "{} {} {} {}".format(
        placement(kinds, white),
        "w" if flags & 1 else "b",
        rights or "-",
        chess.SQUARE_NAMES[square] if square else "-",
    )


@dataclass(slots=True)
class _Node:
    """A position of the tree where the mating side moves.

    He mates within `bound`; `distance` is what the tree takes in the end.  `replies` are
    those to the move that the tree follows: move and text of the position.
    """

    state: State
    bound: int
    moves: list[int] = field(default_factory=list)
    replies: list[tuple[int, str]] = field(default_factory=list)
    distance: int = 0


class _Tree:
    """The positions of a proof by their text, and what is left open in it.

    As long as it is `exact` and the allowance lasts, bounds are the least lengths and all
    moves that keep to them are found.  After that one move each and any bound will do.
    Bounds fall along every move that the tree follows, so it has no circles.
    """

    def __init__(self, engine: Engine, side: np.uint64, *, exact: bool) -> None:
        self.engine = engine
        self.side = side
        self.nodes: dict[str, _Node] = {}
        self.root: str | None = None
        self.waiting: deque[str] = deque()
        self.open: list[Open] = []
        self.allowance = max(_DUAL_NODES, engine.nodes)
        if not exact:
            self._settle_for_less()

    def grow(self, root: State, moves: int, keys: list[int]) -> _Node:
        """The tree below all keys; returns the root, which follows the first."""
        self.engine.allow(None)
        self.root = position_text(root)
        node = self.nodes[self.root] = _Node(root, moves, keys)
        children = [self._add(self.engine.after(root, key), moves - 1) for key in keys]
        node.replies = children[0]
        self._grow()
        self._measure([position for replies in children for _, position in replies])
        node.distance = 1 + max((self.nodes[p].distance for _, p in node.replies), default=0)
        return node

    def grow_defended(self, root: State, moves: int) -> list[tuple[int, str]]:
        """The tree below all replies of a side that is mated; returns the replies."""
        self.engine.allow(None)
        replies = self._add(root, moves)
        self._grow()
        self._measure([position for _, position in replies])
        return replies

    def left_open(self) -> tuple[Open, ...]:
        """What may be missing, in a fixed order."""
        every: tuple[Open, ...] = ("keys", "duals", "threats")
        return tuple(what for what in every if what in self.open)

    def _settle_for_less(self) -> None:
        self.allowance = 0
        if "duals" not in self.open:
            self.open.append("duals")

    def _add(self, defender: State, most: int) -> list[tuple[int, str]]:
        """Put the positions after all replies into the tree, mated within `most` each."""
        found = []
        for state, distance, reply in self._replies(defender, most):
            text = position_text(state)
            bound = distance or most
            node = self.nodes.get(text)
            if node is None or node.bound > bound:
                self.nodes[text] = _Node(state, bound)
                self.waiting.append(text)
            found.append((reply, text))
        return found

    def _replies(self, defender: State, most: int) -> list[Row]:
        if self.allowance > 0:
            rows = self._courtesy(self.engine.replies, defender, most)
            if rows is not None:
                return rows
        return self.engine.outline(defender, most, self.side)

    def _grow(self) -> None:
        """Solve the waiting positions, those nearest to the root first."""
        while self.waiting:
            node = self.nodes[self.waiting.popleft()]
            if node.moves:  # waited twice, the second time for a smaller bound
                continue
            node.moves = self._solve(node)
            if node.bound > 1:
                defender = self.engine.after(node.state, node.moves[0])
                node.replies = self._add(defender, node.bound - 1)

    def _solve(self, node: _Node) -> list[int]:
        """All moves that mate within the bound, or one if all would cost too much."""
        if self.allowance > 0:
            moves = self._courtesy(self.engine.solutions, node.state, node.bound)
            if moves is not None:
                return moves
        return [self.engine.search(node.state, node.bound, self.side)]

    def _courtesy(
        self, ask: Callable[[State, int, np.uint64], list[_T]], state: State, left: int
    ) -> list[_T] | None:
        """Ask within the allowance; None, and no more of it, if that did not suffice."""
        before = self.engine.nodes
        self.engine.allow(self.allowance)
        answer = ask(state, left, self.side)
        stopped = self.engine.stopped
        self.allowance -= self.engine.nodes - before
        self.engine.allow(None)
        if stopped or self.allowance <= 0:
            self._settle_for_less()
        return None if stopped else answer

    def _measure(self, starts: list[str]) -> None:
        """Drop what is no longer reached, and set the distances, shortest bounds first."""
        reached = dict.fromkeys(starts)
        waiting = list(reached)
        while waiting:
            for _, position in self.nodes[waiting.pop()].replies:
                if position not in reached:
                    reached[position] = None
                    waiting.append(position)
        self.nodes = {
            text: node for text, node in self.nodes.items() if text in reached or text == self.root
        }
        for node in sorted((self.nodes[text] for text in reached), key=lambda n: n.bound):
            node.distance = 1 + max((self.nodes[p].distance for _, p in node.replies), default=0)

    def built(self, line: Iterable[chess.Move], moves: int) -> Built:
        """What the tree says, in python-chess's terms."""
        return Built(
            moves,
            line=tuple(line),
            tree={text: tuple(map(move_to_chess, node.moves)) for text, node in self.nodes.items()},
            distance={text: node.distance for text, node in self.nodes.items()},
        )


def _line(tree: _Tree, defender: State, replies: list[tuple[int, str]]) -> list[chess.Move]:
    """The main line from a position where the defender moves: always his longest defence.

    Among defences that last as long, one that leaves the mating side a single way to go on
    comes first, then a capture, then the order of UCI text.
    """
    line: list[chess.Move] = []
    while replies:
        taken = int(defender.p0 | defender.p1 | defender.p2)
        *_, text, position = min(
            (
                -tree.nodes[position].distance,
                len(tree.nodes[position].moves) > 1,
                not taken >> (reply >> 6 & 63) & 1,
                move_to_chess(reply).uci(),
                position,
            )
            for reply, position in replies
        )
        node = tree.nodes[position]
        line += [chess.Move.from_uci(text), move_to_chess(node.moves[0])]
        replies, defender = node.replies, tree.engine.after(node.state, node.moves[0])
    return line


def _threats(
    tree: _Tree, root: State, moves: int, keys: list[int], nodes: int
) -> dict[chess.Move, Threat]:
    """The threat of each quiet key that has one; looking for one may cost so many nodes."""
    engine = tree.engine
    threats: dict[chess.Move, Threat] = {}
    for key in keys:
        defender = engine.after(root, key)
        if moves == 1 or gives_check(defender):
            continue
        engine.allow(nodes)
        threat = threat_after_pass(engine, defender, moves - 1)
        if threat is not None:
            threats[move_to_chess(key)] = threat
        elif engine.stopped:
            tree.open.append("threats")
            break
    engine.allow(None)
    return threats


def _shortest_line(engine: Engine, state: State, moves: int) -> tuple[chess.Move, ...]:
    """One full line of a mate in `moves`: first solutions, longest defences."""
    line = []
    while True:
        move = engine.solutions(state, moves)[0]
        line.append(move_to_chess(move))
        if moves == 1:
            return tuple(line)
        rows = engine.replies(engine.after(state, move), moves - 1)
        state, moves, reply = min(rows, key=lambda row: (-row[1], move_to_chess(row[2]).uci()))
        line.append(move_to_chess(reply))
