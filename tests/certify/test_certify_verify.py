"""The verifier accepts what is true, and says where a tampered document goes wrong.

The trees here are written by hand from two positions of our own; that they are right is
python-chess's word (the verifier has no other), and the definition of mate and stalemate is
that of the FIDE Laws, articles 5.1.1 and 5.2.1.
"""

from __future__ import annotations

import copy
import json
from typing import Any

import chess
import pytest

from flightless.certify import document_text, position_key, read_document, verify
from flightless.errors import CertificateError

ROOKS = "3r2k1/5ppp/8/8/8/7P/4RPP1/4R1K1 w - - 0 1"
KNIGHT = "5r1k/p4p1p/6p1/4N3/8/8/1B3PPP/6K1 w - - 0 1"


def rooks() -> dict[str, Any]:
    return {
        "format": "flightless-proof",
        "version": 1,
        "fen": ROOKS,
        "verdict": "mate",
        "moves": 2,
        "shortest": True,
        "keys": ["e2e8"],
        "line": ["Re8+", "Rxe8", "Rxe8#"],
        "nodes": 100,
        "within": 5,
        "budget": 1000,
        "searched": 1,
        "stopped_by": None,
        "tree": {
            "3r2k1/5ppp/8/8/8/7P/4RPP1/4R1K1 w - -": [2, "e2e8"],
            "4r1k1/5ppp/8/8/8/7P/5PP1/4R1K1 w - -": [1, "e1e8"],
        },
        "threats": {},
        "delays": [],
    }


def knight() -> dict[str, Any]:
    return rooks() | {
        "fen": KNIGHT,
        "keys": ["e5f7", "e5g6"],
        "line": ["Nxf7+", "Kg8", "Nh6#"],
        "tree": {
            "5r1k/p4p1p/6p1/4N3/8/8/1B3PPP/6K1 w - -": [2, "e5f7", "e5g6"],
            "5rk1/p4N1p/6p1/8/8/8/1B3PPP/6K1 w - -": [1, "f7h6"],
            "5rk1/p4p1p/6N1/8/8/8/1B3PPP/6K1 w - -": [1, "g6e7"],
        },
    }


def nothing(verdict: str, fen: str, within: int, searched: int) -> dict[str, Any]:
    return rooks() | {
        "fen": fen,
        "verdict": verdict,
        "moves": None,
        "shortest": False,
        "keys": [],
        "line": [],
        "within": within,
        "searched": searched,
        "tree": {},
    }


def test_true_documents_hold() -> None:
    for document, positions in ((rooks(), 2), (knight(), 3)):
        result = verify(read_document(document_text(document)))
        assert result.ok, result.sentences
        assert result.positions == positions
        assert set(result.checked) == {"mate", "line", "shortest", "keys"}
        assert result.unchecked == ()
        assert result.where == ()
        assert "mate in 2 verified" in result.sentences[0]


def test_mated_holds_and_falls_with_its_number() -> None:
    # After 1.Re8+ Black is mated in one whatever he plays (he has one reply).
    document = rooks() | {
        "fen": "3rR1k1/5ppp/8/8/8/7P/5PP1/4R1K1 b - - 0 1",
        "verdict": "mated",
        "moves": -1,
        "searched": 0,
        "keys": [],
        "line": ["Rxe8", "Rxe8#"],
        "tree": {"4r1k1/5ppp/8/8/8/7P/5PP1/4R1K1 w - -": [1, "e1e8"]},
    }
    result = verify(document)
    assert result.ok, result.sentences
    assert "mated" in result.checked
    assert not verify(document | {"moves": -2, "searched": 1}).ok


def test_no_mate_is_searched_to_two_moves_and_left_open_beyond() -> None:
    quiet = chess.STARTING_FEN
    assert verify(nothing("no mate", quiet, 2, 2)).checked == ("no mate",)
    beyond = verify(nothing("no mate", quiet, 4, 4))
    assert beyond.ok
    assert beyond.unchecked == ("no mate",)
    assert any("not independently checked" in sentence for sentence in beyond.sentences)
    lie = verify(nothing("no mate", ROOKS, 2, 2))
    assert not lie.ok
    assert lie.where == ("Re8+",)
    assert verify(nothing("undecided", ROOKS, 5, 1)).ok
    assert not verify(nothing("undecided", ROOKS, 5, 2)).ok
    assert not verify(nothing("no mate", quiet, 2, 1)).ok


TAKEN = "5rk1/p4p1p/6N1/8/8/8/1B3PPP/6K1 w - -"
FREE = "4k3/8/8/8/8/8/8/4K2R w K -"


def _only_one_key(document: dict[str, Any]) -> None:
    document["keys"].pop()
    document["tree"][KNIGHT[:-4]].pop()
    document["tree"].pop(TAKEN)


def _false_key(document: dict[str, Any]) -> None:
    document["keys"].append("e5d7")
    document["tree"][KNIGHT[:-4]].append("e5d7")


def _tree(*entry: Any) -> Any:
    return lambda d: d["tree"].update({TAKEN: list(entry)})


THREAT = {"e5f7": {"moves": 1, "keys": ["f7h6"], "line": ["Nh6#"]}}


@pytest.mark.parametrize(
    ("change", "where", "word"),
    [
        (lambda d: d["tree"].pop(TAKEN), ("Nxg6+", "Kg8"), "no answer"),
        (_tree(1, "g6e5"), ("Nxg6+", "Kg8", "Ne5"), "should be mate"),
        (_tree(1, "g6g7"), ("Nxg6+", "Kg8"), "not a legal move"),
        (_tree(2, "g6e7"), ("Nxg6+", "Kg8"), "only in 2"),
        (lambda d: d["tree"].update({FREE: [1, "h1h8"]}), (), "no line"),
        (lambda d: d["line"].pop(), ("Nxf7+", "Kg8"), "ends here without mate"),
        (lambda d: d["line"].__setitem__(0, "Nd7"), (), "not a move of the tree"),
        (lambda d: d["line"].__setitem__(1, "Kg7"), ("Nxf7+",), "not legal"),
        (lambda d: d.update(moves=3), (), "mate in 3"),
        (lambda d: d["keys"].pop(), (), "differ"),
        (_only_one_key, ("Nxg6+",), "leave it out"),
        (_false_key, ("Nd7+",), "no answer"),
        (lambda d: d.update(threats=THREAT), ("Nxf7+",), "passes"),
        (lambda d: d.update(delays=["a7a5"]), ("Nxf7+",), "not legal"),
    ],
)
def test_tampering_is_found_at_its_place(change: Any, where: tuple[str, ...], word: str) -> None:
    document = copy.deepcopy(knight())
    change(document)
    result = verify(document)
    assert not result.ok
    assert result.where[: len(where)] == where
    assert word in result.sentences[0]


def test_a_shorter_mate_is_found() -> None:
    # Mate in one is there (Re8#), and the document claims two with a slow first move.
    fen = "6k1/5ppp/8/8/8/8/8/4R1K1 w - - 0 1"
    document = rooks() | {"fen": fen, "keys": ["g1f1"], "line": ["Kf1", "h5", "Re8#"]}
    board = chess.Board(fen)
    tree: dict[str, list[Any]] = {position_key(board): [2, "g1f1"]}
    board.push_uci("g1f1")
    for reply in list(board.legal_moves):
        board.push(reply)
        tree[position_key(board)] = [1, "e1e8"]
        board.pop()
    result = verify(document | {"tree": tree})
    assert not result.ok  # 1…g6 or 1…h6 lets the king out
    assert result.where[0] == "Kf1"


def test_stalemate_is_no_mate() -> None:
    # FIDE Laws 5.2.1: no legal move and not in check is a draw.
    fen = "7k/8/5KQ1/8/8/8/8/8 w - - 0 1"
    document = rooks() | {
        "fen": fen,
        "moves": 1,
        "searched": 0,
        "keys": ["f6f7"],
        "line": ["Kf7"],
        "tree": {"7k/8/5KQ1/8/8/8/8/8 w - -": [1, "f6f7"]},
    }
    result = verify(document)
    assert not result.ok
    assert result.where == ("Kf7",)
    assert "stalemate" in result.sentences[0]


def test_a_circle_cannot_hide() -> None:
    # Rooks that shuffle for ever: distances must fall, so the document fails.
    fen = "7k/8/8/8/8/8/8/R5K1 w - - 0 1"
    board = chess.Board(fen)
    tree: dict[str, list[Any]] = {position_key(board): [3, "a1b1"]}
    document = rooks() | {"fen": fen, "moves": 3, "keys": ["a1b1"], "line": ["Rb1"], "tree": tree}
    for first, back in (("a1b1", "b1a1"), ("b1a1", "a1b1")):
        board.push_uci(first)
        for reply in list(board.legal_moves):
            board.push(reply)
            tree[position_key(board)] = [3, back]
            board.pop()
        board.push(next(iter(board.legal_moves)))
    result = verify(document)
    assert not result.ok
    assert "only in 3" in result.sentences[0]


@pytest.mark.parametrize(
    "text",
    [
        "",
        "null",
        "[]",
        "17",
        "{",
        '{"format": "flightless-proof", "version": 1, "version": 1}',
        '{"a": NaN}',
        "[" * 100_000,
        '{"a":' * 100_000,
        "9" * 10_000,
        "\ud800",
        "{}",
        '{"format": "flightless-proof", "version": 2}',
        '{"format": "flightless-proof", "version": true}',
    ],
)
def test_hostile_text_is_refused_in_one_sentence(text: str) -> None:
    with pytest.raises(CertificateError) as caught:
        verify(read_document(text))
    assert "\n" not in str(caught.value)
    assert len(str(caught.value)) < 400


WRONG: list[Any] = [None, 7, -1, 10**30, 1.5, True, "x" * 1000, "0000", "4k3/8/8/8/8/8/8/8 w - -"]
WRONG += [[], [1], ["e2e8", "e2e8"], ["\ud800"], [[[[]]]], ["e2e8x"], ["0000"]]
WRONG += [{}, {"a": 1}, {"a": []}, {"e2e8": {"moves": 1}}, {"a": [1, "e2e2"]}]
HARMLESS: dict[str, list[Any]] = {
    "nodes": [7],
    "budget": [7],
    "within": [7],
    "stopped_by": [None],
    "threats": [{}],
    "delays": [[]],
    "shortest": [True],
}


@pytest.mark.parametrize("field", sorted(rooks()))
def test_wrong_values_never_end_in_a_traceback(field: str) -> None:
    for value in WRONG:
        try:
            result = verify(rooks() | {field: value})
        except CertificateError as error:
            sentence = str(error)
        else:
            sentence = " ".join(result.sentences)
            assert not result.ok or value in HARMLESS.get(field, []), value
        assert "\n" not in sentence
        assert len(sentence) < 600


def test_a_refused_document_claims_nothing() -> None:
    with pytest.raises(CertificateError, match="claims nothing"):
        verify(rooks() | {"verdict": "refused", "reason": "White is already mated"})


def test_position_key_is_fens_first_four_fields() -> None:
    """Compared with python-chess's own writer, en passant only where it is legal."""
    board = chess.Board()
    game = "e2e4,a7a6,e4e5,d7d5,e5d6,e7d6,g1f3,g8f6,f1e2,f8e7,e1g1,e8g8"
    for move in game.split(","):
        assert position_key(board) == board.epd(en_passant="legal")
        board.push_uci(move)
    assert position_key(board) == board.epd(en_passant="legal")


def test_the_text_form_is_stable() -> None:
    text = document_text(rooks())
    assert "\n" not in text
    assert document_text(json.loads(text)) == text
