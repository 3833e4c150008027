"""Geometry keys: the same under every symmetry, slide and exchange that applies, different
where a rule differs.  python-chess turns the boards and is asked for every attack."""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator

import chess
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from flightless.cases.build import case_of
from flightless.errors import UsageError
from flightless.patterns.geometry import (
    geometry_key,
    geometry_of,
    geometry_of_position,
    key_hash,
)
from flightless.patterns.keys import parse_key, readable
from flightless.patterns.recognise import catalogue
from strategies import mated

TURNS: tuple[Callable[[chess.Bitboard], chess.Bitboard], ...] = (
    chess.flip_vertical,
    chess.flip_horizontal,
    chess.flip_diagonal,
    chess.flip_anti_diagonal,
    lambda b: chess.flip_vertical(chess.flip_diagonal(b)),
    lambda b: chess.flip_vertical(chess.flip_anti_diagonal(b)),
    lambda b: chess.flip_vertical(chess.flip_horizontal(b)),
)
KINDS = (chess.QUEEN, chess.ROOK, chess.BISHOP, chess.KNIGHT, chess.PAWN)


def plain(board: chess.Board) -> chess.Board:
    """Without castling rights and en-passant square, which a turned board cannot have."""
    board = board.copy(stack=False)
    board.castling_rights, board.ep_square = 0, None
    return board


def cornered(chance: random.Random) -> chess.Board:
    """A mate by chance, of few men near a king who is mostly on the edge: quick to find."""
    while True:
        board = chess.Board(None)
        edge = [s for s in chess.SQUARES if 0 in divmod(s, 8) or 7 in divmod(s, 8)]
        king = chance.choice(edge if chance.random() < 0.7 else list(chess.SQUARES))
        near = [s for s in chess.SQUARES if chess.square_distance(s, king) <= 2]
        board.set_piece_at(king, chess.Piece(chess.KING, False))
        far = [s for s in chess.SQUARES if chess.square_distance(s, king) > 1]
        board.set_piece_at(chance.choice(far), chess.Piece(chess.KING, True))
        for _ in range(chance.randint(1, 5)):
            square = chance.choice(near) if chance.random() < 0.6 else chance.choice(far)
            kind = chance.choices(KINDS, (4, 4, 2, 2, 2))[0]
            if not board.piece_at(square) and _may_stand(kind, square):
                board.set_piece_at(square, chess.Piece(kind, True))
        for square in chance.sample(near, min(len(near), chance.randint(0, 5))):
            kind = chance.choices(KINDS, (1, 2, 1, 1, 5))[0]
            if not board.piece_at(square) and _may_stand(kind, square):
                board.set_piece_at(square, chess.Piece(kind, False))
        board.turn = False
        if board.is_check() and board.is_checkmate() and board.is_valid():
            return board.mirror() if chance.random() < 0.5 else board


def _may_stand(kind: chess.PieceType, square: chess.Square) -> bool:
    return kind != chess.PAWN or 0 < chess.square_rank(square) < 7


def key_of(fen: str) -> str:
    return geometry_key(case_of(chess.Board(fen)))


@settings(max_examples=500, deadline=None, suppress_health_check=list(HealthCheck))
@given(st.integers(0, 2**32 - 1))
def test_keys_do_not_change_with_colours_and_turns(seed: int) -> None:
    """Colours and files for every mate; for one without pawns all eight turns; and for a
    skeleton without mating pawns every turn that leaves it a legal mate."""
    chance = random.Random(seed)
    board = plain(mated(chance)) if seed % 8 == 0 else cornered(chance)
    if not board.is_checkmate():
        return  # only without en passant is there an answer
    geometry = geometry_of(case_of(board))
    assert geometry.fen == geometry_of_position(chess.Board(geometry.fen)).fen
    assert geometry_key(case_of(board.mirror())) == geometry.key
    assert geometry_key(case_of(board.transform(chess.flip_horizontal))) == geometry.key
    skeleton = chess.Board(geometry.fen)
    for turn in TURNS:
        if not board.pawns:
            assert geometry_key(case_of(board.transform(turn))) == geometry.key
        if not skeleton.pawns & skeleton.occupied_co[not skeleton.turn]:
            turned = skeleton.transform(turn)
            if turned.is_valid() and turned.is_checkmate():
                assert geometry_of_position(turned).key == geometry.key


def attacks(board: chess.Board) -> dict[chess.Square, frozenset[chess.Square]]:
    """For each man of the mating side the squares of the king's field that he attacks, the
    king lifted off."""
    king = board.king(board.turn)
    assert king is not None
    lifted = board.copy(stack=False)
    lifted.remove_piece_at(king)
    near = chess.SquareSet(chess.BB_KING_ATTACKS[king])
    return {
        man: frozenset(s for s in near if man in lifted.attackers(not board.turn, s))
        for man in chess.SquareSet(board.occupied_co[not board.turn])
    }


def moved(board: chess.Board, man: chess.Square, to: chess.Square) -> chess.Board:
    after = board.copy(stack=False)
    piece = after.remove_piece_at(man)
    after.set_piece_at(to, piece)
    return after


def slides(board: chess.Board) -> Iterator[chess.Board]:
    """The position with one line man of the mating side slid along a line on which he works."""
    king = board.king(board.turn)
    assert king is not None
    before = attacks(board)
    for man, duties in before.items():
        off_field = chess.square_distance(man, king) > 1
        if board.piece_type_at(man) not in (chess.BISHOP, chess.ROOK, chess.QUEEN):
            continue
        if not duties or not off_field:
            continue
        for target in duties:
            for to in chess.SquareSet(chess.ray(man, target)):
                if board.piece_at(to) or chess.square_distance(to, king) < 2:
                    continue
                after = moved(board, man, to)
                now = attacks(after)
                same = {**before, to: duties}
                same.pop(man)
                if _on_other_lines(man, to, duties):
                    continue
                if now == same and after.is_checkmate() and not after.was_into_check():
                    yield after


def _on_other_lines(man: chess.Square, to: chess.Square, duties: frozenset[chess.Square]) -> bool:
    """Whether he now attacks some square from another line: that is no slide."""
    return any(not chess.ray(man, s) & chess.BB_SQUARES[to] for s in duties)


def sample(many: int, seed: int) -> Iterator[chess.Board]:
    """Skeletons of the catalogue's mates and of mates by chance."""
    for pattern in catalogue().patterns:
        for example in (pattern.model, *pattern.variations):
            yield chess.Board(geometry_of(case_of(chess.Board(example.fen))).fen)
    chance = random.Random(seed)
    for _ in range(many):
        yield chess.Board(geometry_of(case_of(cornered(chance))).fen)


def test_sliding_along_a_line_keeps_the_key() -> None:
    tried = 0
    for board in sample(60, 1):
        key = geometry_of_position(board).key
        for after in slides(board):
            tried += 1
            assert geometry_of_position(after).key == key, (board.fen(), after.fen())
    assert tried > 300


def test_exchanging_the_supporter_keeps_the_key() -> None:
    """A queen next to the king on the edge, and whoever protects her; every other man on
    every other square who does that and nothing else gives the same key."""
    board = chess.Board("6k1/5pQp/5P2/8/8/8/8/K7 b - - 0 1")
    skeleton = chess.Board(geometry_of(case_of(board)).fen)
    key = geometry_of_position(skeleton).key
    assert key == "-n,ne,nw Q+@s*:e,se,sw,w"
    kinds = set()
    for square in chess.SQUARES:
        for kind in KINDS:
            after = skeleton.copy(stack=False)
            after.remove_piece_at(chess.F6)
            if after.piece_at(square) or chess.square_distance(square, chess.G8) < 2:
                continue
            after.set_piece_at(square, chess.Piece(kind, chess.WHITE))
            if after.is_valid() and after.is_checkmate():
                assert key_of(after.fen()) == key, after.fen()
                kinds.add(kind)
    assert kinds == set(KINDS)
    assert key_of("6k1/6Q1/6K1/8/8/8/8/8 b - - 0 1") == key, "the king supports as well"


@pytest.mark.parametrize(
    ("first", "second", "why"),
    [
        (
            "R5k1/5ppp/8/8/8/8/8/K7 b - - 0 1",
            "Q5k1/5ppp/8/8/8/8/8/K7 b - - 0 1",
            "another kind of checker",
        ),
        (
            "3R2k1/5ppp/8/8/8/8/8/K7 b - - 0 1",
            "3R2k1/5prp/8/8/8/8/8/K7 b - - 0 1",
            "another man in the way",
        ),
        (
            "R5k1/5ppp/8/8/8/8/8/K7 b - - 0 1",
            "R6k/6pp/8/8/8/8/8/K7 b - - 0 1",
            "the corner instead of the edge",
        ),
        (
            "R5k1/1R6/8/8/8/8/8/6K1 b - - 0 1",
            "R5k1/8/6Q1/8/8/8/8/6K1 b - - 0 1",
            "the next line held by another man from elsewhere",
        ),
        (
            "7k/7R/5N2/8/8/8/6PP/6K1 b - - 0 1",
            "7k/7R/6K1/8/2B5/8/8/8 b - - 0 1",
            "a knight with two duties, and king and bishop with one each",
        ),
        # reflections of each other in a diagonal, both legal mates: the pawn guards d8 by going
        # up the board in the one; in the other he guards the same square of the picture, but
        # the picture lies on its side
        (
            "4k3/2P2Q2/8/8/K7/8/5R2/8 b - - 0 1",
            "8/8/1R4Q1/7k/8/6P1/8/3K4 b - - 0 1",
            "a pawn that works does not turn",
        ),
        (
            "R3k3/5q2/5P2/8/3R4/8/8/4K3 b - - 0 1",
            "R7/8/8/4R3/k6K/1qP5/8/8 b - - 0 1",
            "a pawn that works does not turn",
        ),
    ],
)
def test_keys_differ_where_a_rule_differs(first: str, second: str, why: str) -> None:
    assert key_of(first) != key_of(second), why


def test_the_same_net_a_file_further_has_the_same_key() -> None:
    assert key_of("R5k1/5ppp/8/8/8/8/8/K7 b - - 0 1") == key_of("R4k2/4ppp1/8/8/8/8/8/K7 b - - 0 1")


def test_a_supporting_pawn_turns_but_a_guarding_one_does_not() -> None:
    """A pawn who only protects may be anybody; the reflected pictures are the test above."""
    lolli = "6k1/5pQp/5P2/8/8/8/8/K7 b - - 0 1"
    assert key_of("8/8/8/8/6Qk/5P2/8/K7 b - - 0 1") == key_of(lolli)


def test_the_choice_among_several_skeletons_does_not_hang_on_square_order() -> None:
    """Where equally small skeletons stand side by side, mirrored boards must choose alike."""
    several = 0
    chance = random.Random(11)
    for _ in range(150):
        board = cornered(chance)
        case = case_of(board)
        fewest = [s for s in case.skeletons if len(s.men) == len(case.skeleton.men)]
        several += len(fewest) > 1
        turned = board.transform(chess.flip_horizontal)
        assert geometry_key(case_of(turned)) == geometry_key(case)
    assert several >= 10


def test_hashes_are_short_and_stable() -> None:
    """BLAKE2s with eight bytes, as hashlib of any machine gives it."""
    assert key_hash("-n,ne,nw =ps,pse,psw R+~ew:e,w") == "48897b0b0fabaad9"


def test_keys_can_be_read_back() -> None:
    for board in sample(100, 7):
        key = geometry_of_position(board).key
        parsed = parse_key(key)
        field = chess.popcount(chess.BB_KING_ATTACKS[board.king(board.turn) or 0])
        assert len(parsed.off) == 8 - field
        own = board.occupied_co[board.turn]
        assert len(parsed.own) + len(parsed.extra) == chess.popcount(own) - 1
        assert sum(man.checks for man in parsed.men) == len(board.checkers())
        assert readable(key).startswith("king ")


@pytest.mark.parametrize("text", ["", "R+~ew:e,w -x", "=zz", "Q+@s*:up", "R+", "hello", "=p"])
def test_other_texts_are_refused(text: str) -> None:
    with pytest.raises(UsageError, match="not a geometry key"):
        parse_key(text)
