"""Mates that the literature shows, and what it says of them, found again by computation.

Game scores are facts; the source of each stands beside it.  What is needed and what would do
instead is checked man by man with the referee as well.
"""

from __future__ import annotations

import json

import cases_referee as referee
import chess
import pytest

from flightless.cases.build import case_of
from flightless.cases.case import Case
from flightless.cases.document import case_document

GAMES = {
    # The shortest mate; Greco's manuscripts (1620s), from memory.
    "fool": "f3 e5 g4 Qh4#",
    # The scholar's mate; Beale, The Royall Game of Chesse-Play, 1656, from memory.
    "scholar": "e4 e5 Bc4 Nc6 Qh5 Nf6 Qxf7#",
    # Légal - Saint Brie, Paris about 1750; retold in most primers, from memory.
    "legal": "e4 e5 Nf3 d6 Bc4 Bg4 Nc3 g6 Nxe5 Bxd1 Bxf7+ Ke7 Nd5#",
    # Anderssen - Kieseritzky, London 1851 (the end as published, from memory).
    "immortal": (
        "e4 e5 f4 exf4 Bc4 Qh4+ Kf1 b5 Bxb5 Nf6 Nf3 Qh6 d3 Nh5 Nh4 Qg5 Nf5 c6 g4 Nf6 Rg1 cxb5 "
        "h4 Qg6 h5 Qg5 Qf3 Ng8 Bxf4 Qf6 Nc3 Bc5 Nd5 Qxb2 Bd6 Bxg1 e5 Qxa1+ Ke2 Na6 Nxg7+ Kd8 "
        "Qf6+ Nxf6 Be7#"
    ),
    # Morphy - Duke of Brunswick and Count Isouard, Paris 1858, from memory.
    "opera": (
        "e4 e5 Nf3 d6 d4 Bg4 dxe5 Bxf3 Qxf3 dxe5 Bc4 Nf6 Qb3 Qe7 Nc3 c6 Bg5 b5 Nxb5 cxb5 Bxb5+ "
        "Nbd7 O-O-O Rd8 Rxd7 Rxd7 Rd1 Qe6 Bxd7+ Nxd7 Qb8+ Nxb8 Rd8#"
    ),
    # Réti - Tartakower, Vienna 1910, from memory.
    "reti": (
        "e4 c6 d4 d5 Nc3 dxe4 Nxe4 Nf6 Qd3 e5 dxe5 Qa5+ Bd2 Qxe5 O-O-O Nxe4 Qd8+ Kxd8 Bg5+ Kc7 Bd8#"
    ),
    # Schulder - Boden, London 1853, from memory.
    "boden": (
        "e4 e5 Nf3 d6 c3 f5 Bc4 Nf6 d4 fxe4 dxe5 exf3 exf6 Qxf6 gxf3 Nc6 f4 Bd7 Be3 O-O-O Nd2 "
        "Re8 Qf3 Bf5 O-O-O d5 Bxd5 Qxc3+ bxc3 Ba3#"
    ),
}


def final(name: str) -> chess.Board:
    board = chess.Board()
    for san in GAMES[name].split():
        board.push_san(san)
    return board


def names(men: object) -> set[str]:
    return {chess.square_name(s) for s in men}


@pytest.mark.parametrize("name", GAMES)
def test_games_man_by_man(name: str) -> None:
    board = final(name)
    case = case_of(board)
    assert list(case.needed) == referee.needed(board)
    assert {(s.square, s.kind) for s in case.saviours} == {
        (square, referee.LETTERS[letter]) for letter, square in referee.saviours(board)
    }
    for skeleton in case.skeletons:
        assert referee.is_mate(chess.Board(skeleton.fen))


def test_what_takes_part_in_the_famous_ends() -> None:
    opera = case_of(final("opera"))
    assert names(opera.checkers) == {"d8"}
    assert opera.takes_part[chess.D8] == opera.takes_part[chess.G5] == "all"
    assert all(opera.takes_part[s] == "none" for s in (chess.F2, chess.G2, chess.H8))
    reti = case_of(final("reti"))
    assert reti.checker_protectors[chess.D8] == (chess.D1,)
    legal = case_of(final("legal"))
    part = {s for s in referee.men(legal.board) if legal.takes_part[s] != "none"}
    kinds = sorted(
        legal.board.piece_type_at(s) for s in part if legal.board.color_at(s) == legal.mating
    )
    assert kinds == [chess.KNIGHT, chess.KNIGHT, chess.BISHOP]  # the mate's three minor pieces
    boden = case_of(final("boden"))
    part = {s for s in referee.men(boden.board) if boden.takes_part[s] != "none"}
    assert {s for s in part if boden.board.color_at(s) == boden.mating} == {chess.A3, chess.F5}


def test_a_discovered_check_is_told() -> None:
    board = chess.Board("2rkr3/2p1p3/8/8/3B4/8/8/3R3K w - - 0 1")  # ours
    board.push_san("Bb6#")
    assert case_of(board).discovered is True
    board = final("fool")
    assert case_of(board).discovered is False


# --- the three worked examples of VOICE.md --------------------------------------------------


def lines(case: Case, instead_of: str) -> dict[str, set[str]]:
    """The substitutes of one man, squares by letter."""
    found: dict[str, set[str]] = {}
    for s in case.substitutes:
        if chess.square_name(s.instead_of) == instead_of:
            letter = chess.piece_symbol(s.kind).upper()
            found.setdefault(letter, set()).add(chess.square_name(s.square))
    return found


def test_rook_ending_with_no_luft() -> None:
    board = chess.Board("3r2k1/5ppp/8/8/8/7P/4RPP1/4R1K1 w - - 0 1")
    for san in ("Re8+", "Rxe8", "Rxe8#"):
        board.push_san(san)
    case = case_of(board)
    assert names(case.needed) == {"e8", "f7", "g7", "h7"}
    assert names(case.interposition_squares) == {"f8"}
    assert case.checker_protectors[chess.E8] == ()
    assert lines(case, "e8") == {
        "R": {"a8", "b8", "c8", "d8"},
        "Q": {"a8", "b8", "c8", "d8", "e8"},
    }
    luft = {x.move.uci(): names(m.to_square for m in x.answers) for x in case.luft}
    assert luft["h7h6"] == {"h7"}
    assert all(set(luft[m]) for m in ("g7g6", "f7f6"))


def test_queen_before_the_king() -> None:
    board = chess.Board("r4rk1/pb3p1p/1p3Pp1/8/7Q/8/2q2PPP/4R1K1 w - - 0 1")
    for san in ("Qh6", "Qxf2+", "Kxf2", "a6", "Qg7#"):
        board.push_san(san)
    case = case_of(board)
    assert names(case.needed) == {"f6", "g7"}
    assert case.checker_protectors[chess.G7] == (chess.F6,)
    assert {"f7", "h7", "f8"} <= names(case.not_needed)
    instead = lines(case, "f6")
    assert {"a1", "b2", "c3", "d4", "e5", "f6", "h6"} <= instead["B"]
    assert instead["P"] == {"h6"}
    saved = {
        (chess.piece_symbol(s.kind).upper(), chess.square_name(s.square)) for s in case.saviours
    }
    assert {("N", "e8"), ("B", "h6")} <= saved


def test_double_check_both_ways() -> None:
    start = "5r1k/p4p1p/6p1/4N3/8/8/1B3PPP/6K1 w - - 0 1"
    board = chess.Board(start)
    for san in ("Nxf7+", "Kg8", "Nh6#"):
        board.push_san(san)
    case = case_of(board)
    assert {
        chess.square_name(f.square): (f.state, names(f.by)) for f in case.field if f.square
    } == {
        "f7": ("guarded", {"h6"}),
        "g7": ("guarded", {"b2"}),
        "h7": ("blocked", {"h7"}),
        "f8": ("blocked", {"f8"}),
        "h8": ("guarded", {"b2"}),
    }
    assert (chess.G7, chess.BISHOP) in {(s.square, s.kind) for s in case.saviours}
    board = chess.Board(start)
    for san in ("Nxg6+", "Kg8", "Ne7#"):
        board.push_san(san)
    case = case_of(board)
    assert case.field[[f.square for f in case.field].index(chess.F7)].state == "blocked"


# --- the document ---------------------------------------------------------------------------


def test_the_document_says_what_the_case_says() -> None:
    case = case_of(final("opera"))
    document = json.loads(json.dumps(case_document(case)))
    assert document["format"] == "flightless-case"
    assert document["version"] == 1
    assert chess.Board(document["fen"]).is_checkmate()
    assert len(document["field"]) == 8
    off = [f for f in document["field"] if f["state"] == "off-board"]
    assert all("square" not in f for f in off)
    assert set(document["needed"]) == names(case.needed)
    assert set(document["not_needed"]) == names(case.not_needed)
    assert document["shields_own_king"] == []
    assert document["checkers"] == ["d8"]
    assert referee.is_mate(chess.Board(document["skeleton"]))
    assert {(s["instead_of"], s["man"], s["square"]) for s in document["substitutes"]} == {
        (chess.square_name(a), b, chess.square_name(c))
        for a, b, c in referee.substitutes(case.board)
    }
    assert {(s["man"], s["square"]) for s in document["saviours"]} == {
        (a, chess.square_name(b)) for a, b in referee.saviours(case.board)
    }
