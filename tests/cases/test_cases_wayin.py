"""The way in: what each move of a forced line is, from the literature and by trial."""

from __future__ import annotations

from pathlib import Path

import cases_referee as referee
import chess
import pytest
from test_cases_literature import GAMES

from flightless.cases.material import exchange, offers_of
from flightless.cases.tries import other_keys, tries_of
from flightless.cases.variations import start_variations
from flightless.cases.wayin import AttackStep, WayIn, way_in
from flightless.prove import prove

LOUD = {"mate", "check", "capture", "only reply"}


def way(fen: str, within: int = 4) -> WayIn:
    return way_in(prove(chess.Board(fen), within))


def before_the_end(name: str, plies: int) -> str:
    board = chess.Board()
    for san in GAMES[name].split()[:-plies]:
        board.push_san(san)
    return board.fen()


def kinds(step: AttackStep) -> set[str]:
    return {nature.kind for nature in step.natures} - LOUD


def evidence(step: AttackStep, kind: str) -> list[tuple[str | None, str | None]]:
    def name(square: chess.Square | None) -> str | None:
        return None if square is None else chess.square_name(square)

    return [(name(n.man), name(n.square)) for n in step.natures if n.kind == kind]


def test_deflection_in_the_immortal_game() -> None:
    # 22.Qf6+ draws the knight from the guard of e7 (Anderssen - Kieseritzky, London 1851).
    first, last = way(before_the_end("immortal", 3)).attacks
    assert kinds(first) == {"sacrifice", "deflection"}
    assert evidence(first, "deflection") == [("g8", "e7")]
    assert kinds(last) == set()


def test_line_opened_at_the_opera() -> None:
    # 16.Qb8+ Nxb8 opens the d-file for 17.Rd8 (Morphy, Paris 1858).
    first, _ = way(before_the_end("opera", 3)).attacks
    assert kinds(first) == {"sacrifice", "line opening"}
    assert evidence(first, "line opening") == [("d1", "d7")]
    assert [o.net for o in first.offers] == [9]


def test_king_drawn_out_in_vienna() -> None:
    # 9.Qd8+ Kxd8 10.Bg5 double check (Réti - Tartakower, Vienna 1910).
    found = way(before_the_end("reti", 5))
    first, second, last = found.attacks
    assert kinds(first) == {"sacrifice", "decoy", "clearance"}
    assert evidence(first, "decoy") == [("e8", "d8")]
    assert kinds(second) == {"discovered check", "double check"}
    assert found.profile == (1, 2, 0)
    assert found.checks_only
    assert {r.move.uci(): r.answers for r in second.replies} == {"d8c7": "flight", "d8e8": "flight"}
    assert last.is_a("mate")


def test_two_bishops_and_a_line_in_london() -> None:
    # 14...Qxc3+ 15.bxc3 Ba3: the pawn leaves b2 (Schulder - Boden, London 1853).
    first, _ = way(before_the_end("boden", 3)).attacks
    assert {"sacrifice", "line opening"} <= kinds(first)
    assert evidence(first, "line opening") == [("a3", "b2")]


def test_smothered_mate_step_by_step() -> None:
    # The combination that Lucena printed in 1497 and Philidor's name is tied to; from memory.
    found = way("3r3k/6pp/8/6N1/2Q5/8/8/6K1 w - - 0 1")
    first, second, third, last = found.attacks
    assert kinds(first) == set()
    assert kinds(second) == {"discovered check", "double check"}
    assert kinds(third) == {"sacrifice", "decoy", "self-block"}
    assert evidence(third, "self-block") == [("d8", "g8")]
    assert kinds(last) == set()
    assert found.profile == (1, 2, 1, 0)
    assert found.wins == 0


def test_clearing_the_edge_for_the_queen() -> None:
    # A rook gives way to the queen, as in Damiano's book of 1512; position ours.
    first, second, last = way("5rk1/5pp1/6P1/8/8/8/1K6/1Q5R w - - 0 1").attacks
    assert kinds(first) == {"sacrifice", "decoy", "clearance"}
    assert evidence(first, "clearance") == [("b1", "h1")]
    assert kinds(second) == kinds(last) == set()


def test_worked_examples() -> None:
    found = way("3r2k1/5ppp/8/8/8/7P/4RPP1/4R1K1 w - - 0 1")
    assert [kinds(s) for s in found.attacks] == [set(), set()]  # an exchange, no sacrifice
    assert found.attacks[0].is_a("only reply")
    found = way("r4rk1/pb3p1p/1p3Pp1/8/7Q/8/2q2PPP/4R1K1 w - - 0 1")
    first = found.attacks[0]
    assert kinds(first) == {"quiet", "threat"}
    threat = next(n for n in first.natures if n.kind == "threat")
    assert (threat.move, threat.value) == (chess.Move.from_uci("h6g7"), 1)
    assert [r.move.uci() for r in first.replies if r.delay] == ["c2f2"]
    assert len(found.attacks[0].replies) == 39
    assert found.wins == 8  # the queen for a pawn
    proof = prove(chess.Board("5r1k/p4p1p/6p1/4N3/8/8/1B3PPP/6K1 w - - 0 1"), 2)
    (other,) = other_keys(proof)
    assert {proof.line[0].uci(), other.key.uci()} == {"e5f7", "e5g6"}
    assert not other.same_mate
    assert other.way.profile == (1, 0)
    assert {other.key} == set(way_in(proof).attacks[0].duals)


def test_a_proof_without_a_line_is_refused() -> None:
    with pytest.raises(ValueError, match="no line"):
        way_in(prove(chess.Board(), 1))


# --- by trial -------------------------------------------------------------------------------


def mates_in_two() -> list[chess.Board]:
    """Strewn positions in which the side to move mates in two, not one (made by
    `make_mates_in_two.py`)."""
    lines = Path(__file__).with_name("mates_in_two.fen").read_text(encoding="ascii").splitlines()
    return [chess.Board(line) for line in lines if not line.startswith("#")]


def mates_at_once(board: chess.Board) -> list[chess.Move]:
    found = []
    for move in board.legal_moves:
        board.push(move)
        if board.is_checkmate():
            found.append(move)
        board.pop()
    return found


def refutations(board: chess.Board, move: chess.Move) -> list[chess.Move]:
    """Replies after which there is no mate at once, by plain trial."""
    board.push(move)
    found = []
    for reply in list(board.legal_moves):
        board.push(reply)
        if not mates_at_once(board):
            found.append(reply)
        board.pop()
    board.pop()
    return found


def test_steps_against_the_board() -> None:
    for board in mates_in_two()[:60]:
        found = way_in(prove(board, 2))
        walk = board.copy(stack=False)
        for step in found.steps:
            assert step.fen == walk.fen()
            if isinstance(step, AttackStep):
                after = walk.copy(stack=False)
                after.push(step.move)
                assert {r.move for r in step.replies} == set(after.legal_moves)
                assert step.is_a("check") == after.is_check()
                assert step.is_a("double check") == (len(after.checkers()) > 1)
                assert step.is_a("capture") == walk.is_capture(step.move)
                assert step.is_a("mate") == after.is_checkmate()
                assert step.is_a("only reply") == (after.legal_moves.count() == 1)
                assert step.is_a("sacrifice") == bool(step.offers)
                assert not (step.is_a("threat") and step.is_a("zugzwang"))
                if step.mate_in == 1:
                    assert {step.move, *step.duals} == set(mates_at_once(walk))
                if not after.is_check():
                    passed = after.copy(stack=False)
                    passed.turn = not passed.turn
                    passed.ep_square = None
                    assert step.is_a("threat") == bool(mates_at_once(passed))
                    assert step.is_a("zugzwang") != step.is_a("threat")
                for reply in step.replies:
                    then = after.copy(stack=False)
                    then.push(reply.move)
                    assert (reply.mate_in == 1) == bool(mates_at_once(then))
            walk.push(step.move)
        assert walk.is_checkmate()
        assert found.mated == walk.fen()
        assert found.profile == tuple(len(s.replies) for s in found.attacks)


def test_natures_hold_what_they_say() -> None:
    seen: dict[str, int] = {}
    for board in mates_in_two():
        proof = prove(board, 2)
        first = way_in(proof).attacks[0]
        after = board.copy(stack=False)
        after.push(first.move)
        for nature in first.natures:
            seen[nature.kind] = seen.get(nature.kind, 0) + 1
            if nature.kind in ("self-block", "decoy", "deflection"):
                reply = nature.move
                assert reply in after.legal_moves
                assert reply.from_square == nature.man
                then = after.copy(stack=False)
                then.push(reply)
                follow = (
                    proof.line[2]
                    if proof.line[1] == reply
                    else proof.tree[f"{then.board_fen()} {then.fen().split(' ', 1)[1][:-4]}"][0]
                )
                then.push(follow)
                assert then.is_checkmate()
                if nature.kind == "self-block":
                    assert nature.square == reply.to_square
                    assert chess.square_distance(nature.square, then.king(then.turn)) == 1
                    assert then.color_at(nature.square) == then.turn
                if nature.kind == "decoy":
                    assert nature.square == reply.to_square
                    assert after.is_capture(reply)
                if nature.kind == "deflection":
                    back = then.copy(stack=False)
                    back.set_piece_at(nature.man, back.remove_piece_at(reply.to_square))
                    assert chess.Move(nature.man, nature.square) in back.legal_moves or any(
                        m.from_square == nature.man and m.to_square == nature.square
                        for m in back.legal_moves
                    )
    assert {"sacrifice", "quiet", "threat", "only reply", "decoy", "self-block"} <= set(seen)


def test_exchanges_by_hand() -> None:
    def worth(fen: str, uci: str) -> int:
        return exchange(chess.Board(fen), chess.Move.from_uci(uci))

    assert worth("4k3/8/8/3p4/8/8/8/3RK3 w - - 0 1", "d1d5") == 1
    assert worth("4k3/8/2p5/3p4/8/8/8/3RK3 w - - 0 1", "d1d5") == 1 - 5
    assert worth("3rk3/8/8/3p4/8/8/3R4/3RK3 w - - 0 1", "d2d5") == 1
    assert worth("4k3/8/8/3pP3/8/8/8/4K3 w - d6 0 1", "e5d6") == 1
    assert worth("1n2k3/P7/8/8/8/8/8/4K3 w - - 0 1", "a7b8q") == 3 + 8
    # The protector is pinned and may not take back.
    assert worth("4k3/4n3/8/3p4/8/8/8/3RR1K1 w - - 0 1", "d1d5") == 1


def test_offers_are_made_by_the_move() -> None:
    # The rook on a1 hung before; 1.Re8+ offers only itself, and that is an exchange.
    board = chess.Board("3r2k1/5ppp/8/8/3b4/8/4RPP1/R3R1K1 w - - 0 1")
    assert offers_of(board, chess.Move.from_uci("e2e8")) == ()
    board = chess.Board("4kb1r/p2n1ppp/4q3/4p1B1/4P3/1Q6/PPP2PPP/2KR4 w k - 0 16")
    (offer,) = offers_of(board, board.parse_san("Qb8+"))
    assert (offer.man, offer.net) == (chess.B8, 9)


def test_tries_in_two_by_plain_trial() -> None:
    found = 0
    for board in mates_in_two()[60:72]:
        wanted = {}
        for move in board.legal_moves:
            after = board.copy(stack=False)
            after.push(move)
            held = refutations(board, move)
            if not any(after.legal_moves):
                if not after.is_check():
                    wanted[move] = None
            elif len(held) == 1 and after.legal_moves.count() > 1:
                wanted[move] = held[0]
        tries = tries_of(board, 2)
        assert tries.complete
        assert {t.move: t.refutation for t in tries.tries} == wanted, board.fen()
        for one in tries.tries:
            if one.refutation is None:
                assert one.why == "stalemate"
                continue
            then = board.copy(stack=False)
            then.push(one.move)
            assert one.check == then.is_check()
            then.push(one.refutation)
            legal = one.meant is not None and one.meant in then.legal_moves
            assert legal == (one.why in ("answered", "no check"))
            if one.why == "counter-check":
                assert then.is_check()
            if one.why == "answered":
                then.push(one.meant)
                assert then.is_check()
                assert one.answers.answers == then.legal_moves.count() > 0
        found += len(wanted)
    assert found > 10


def test_starting_position_varied() -> None:
    # A queen would do for either rook, whichever goes first.
    board = chess.Board("3r2k1/5ppp/8/8/8/7P/4RPP1/4R1K1 w - - 0 1")
    found = start_variations(board, 2)
    kinds_of = {(c.square, c.instead.piece_type) for c in found.kinds}
    assert {(chess.E1, chess.QUEEN), (chess.E2, chess.QUEEN)} <= kinds_of
    assert not {(chess.E1, chess.BISHOP), (chess.E2, chess.BISHOP)} & kinds_of
    assert not found.undecided
    for board in mates_in_two()[80:81]:
        found = start_variations(board, 2)
        wanted = set()
        for man in referee.men(board):
            piece = board.piece_at(man)
            if piece.color != board.turn:
                continue
            for kind in referee.LETTERS.values():
                pawn = kind == chess.PAWN and chess.square_rank(man) in (0, 7)
                if kind != piece.piece_type and not pawn:
                    other = board.copy(stack=False)
                    other.set_piece_at(man, chess.Piece(kind, piece.color))
                    if not other.was_into_check() and mate_in_exactly_two(other):
                        wanted.add((man, kind))
        assert {(c.square, c.instead.piece_type) for c in found.kinds} == wanted


def mate_in_exactly_two(board: chess.Board) -> bool:
    if mates_at_once(board):
        return False
    for move in list(board.legal_moves):
        after = board.copy(stack=False)
        after.push(move)
        if any(after.legal_moves) and not refutations(board, move):
            return True
    return False
