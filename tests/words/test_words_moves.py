"""What is said of the moves is so: each line is played and each count taken by python-chess."""

from __future__ import annotations

import re
from collections.abc import Sequence

import chess
import pytest
from approved_texts import Approved, account_of, all_texts

PROOFS = [a for a in all_texts() if "prove" in a.fields]
WORDS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")
NUMBERS = {word: n for n, word in enumerate(WORDS)}
MOVE = r"(?:\d+[.…])?(?:O-O(?:-O)?|[KQRBN]?[a-h1-8]{0,2}x?[a-h][1-8](?:=[QRBN])?)\+?"


def fitting(board: chess.Board, text: str) -> chess.Move | None:
    """The legal move that `text` writes, numbers and signs left away."""
    try:
        return board.parse_san(re.sub(r"^\d+[.…]|\+$", "", text))
    except ValueError:
        return None


class Replay:
    """Plays the moves of a telling in order, going back to where a move fits.

    The newest position in which a move fits is taken, as a listener does.
    """

    def __init__(self, start: chess.Board) -> None:
        start.fullmove_number = 1
        self.seen = [start]

    def play(self, text: str, says_mate: bool) -> None:
        number = re.match(r"(\d+)([.…])", text)
        for board in reversed(self.seen):
            right = number is None or (board.fullmove_number, "." if board.turn else "…") == (
                int(number[1]),
                number[2],
            )
            move = fitting(board, text) if right else None
            if move is None:
                continue
            after = board.copy(stack=False)
            after.push(move)
            assert after.is_checkmate() or not says_mate, (text, after.fen())
            assert ("+" in text) == (after.is_check() and not after.is_checkmate()), text
            self.seen.append(after)
            return
        raise AssertionError(f"{text} fits nowhere after {self.seen[-1].fen()}")


def told(approved: Approved) -> list[str]:
    """The sentences about moves."""
    one = account_of(approved)
    ends = [s for s in (*one.section("check"), *one.section("squares")) if s.startswith("After")]
    return [*one.section("verdict"), *ends, *one.section("way in")]


@pytest.mark.parametrize("approved", PROOFS, ids=lambda a: a.path.stem)
def test_moves_can_be_played_as_told(approved: Approved) -> None:
    """Every move in the telling is legal where it is told, checks if it says so, and mates if
    and only if the sentence says mate."""
    board = approved.board
    replay = Replay(board)
    for sentence in told(approved):
        if sentence.startswith(("The pattern", "It is also", "The main line ends")):
            continue
        if "threatens" in sentence:
            head, threat = sentence.split("threatens", 1)
            _play_all(replay, head)
            passed = replay.seen[-1].copy(stack=False)
            passed.push(chess.Move.null())
            aside = Replay(chess.Board(passed.fen()))
            aside.seen[0].fullmove_number = passed.fullmove_number
            _play_all(aside, threat)
        else:
            _play_all(replay, sentence)


def _play_all(replay: Replay, sentence: str) -> None:
    sentence = re.sub(rf", after anything else {MOVE}", "", sentence)  # tried on its own below
    for match in re.finditer(MOVE, sentence):
        answers_a_move = re.search(rf"\d\.{MOVE} $", sentence[: match.start()])
        if re.fullmatch(r"[a-h][1-8]", match[0]) and not answers_a_move:
            continue  # a square, not a pawn's move
        replay.play(match[0], bool(re.match(r" (?:is )?mate", sentence[match.end() :])))


@pytest.mark.parametrize("approved", PROOFS, ids=lambda a: a.path.stem)
def test_counts_of_replies(approved: Approved) -> None:
    """'must take', 'one square', 'only reply': one legal move; 'has n replies': n of them."""
    boards = _boards_before_replies(approved)
    for sentence in told(approved):
        if re.search(r"must take|has one square|can only put|only reply", sentence):
            (reply,) = re.findall(rf": (?:after )?({MOVE})", sentence)[:1]
            assert any(len(list(b.legal_moves)) == 1 and fitting(b, reply) for b in boards), (
                sentence
            )
        count = re.search(r"has (\w+) replies", sentence)
        if count:
            n = NUMBERS.get(count[1]) or int(count[1])
            assert any(len(list(b.legal_moves)) == n for b in boards), sentence
        whatever = re.match(rf"Whatever (?:White|Black) replies, ({MOVE}) is mate", sentence)
        if whatever:
            assert any(_always_mates(b, whatever[1], ()) for b in boards), sentence
        other = re.match(rf"After (.*), after anything else ({MOVE})\.", sentence)
        if other:
            named = re.findall(MOVE, other[1])
            assert any(_always_mates(b, other[2], named) for b in boards), sentence


def _boards_before_replies(approved: Approved) -> list[chess.Board]:
    from flightless.prove import prove

    board = approved.board
    proof = prove(board, int(approved.fields["prove"]))
    boards = []
    for key in proof.keys:
        first = board.copy(stack=False)
        first.push(key)
        boards.append(first)
    for i, move in enumerate(proof.line):
        board.push(move)
        if i % 2 == 0:
            boards.append(board.copy(stack=False))
    return boards


def _always_mates(board: chess.Board, text: str, but_for: Sequence[str]) -> bool:
    """Whether a move mates after every reply but those named."""
    named = {fitting(board, reply) for reply in but_for}
    replies = [reply for reply in board.legal_moves if reply not in named]
    for reply in replies:
        after = board.copy(stack=False)
        after.push(reply)
        move = fitting(after, text)
        if move is None:
            return False
        after.push(move)
        if not after.is_checkmate():
            return False
    return bool(replies)
