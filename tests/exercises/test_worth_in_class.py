"""What a position is worth in class: its facts against plain python-chess, and the order they give.

Weights and steps are common practice, no source; what is tried here is that the facts are true,
that the sum moves the way it should, and that positions of the literature come before clutter.
"""

from __future__ import annotations

import json
import random
from itertools import pairwise
from typing import Any

import chess
import pytest
from exercise_referee import ROOT, published
from making_referee import keys

from flightless.errors import FileError, UsageError
from flightless.exercises.material import NotFit
from flightless.exercises.worth import (
    WEIGHTS,
    Worth,
    rank_of,
    refusal_document,
    weigh,
    worth_document,
    worth_of_document,
)
from flightless.exercises.worth_facts import seen, taking_part
from flightless.exercises.worth_keeping import ToWeigh, weigh_all
from flightless.harvest.records import Record, record_document
from flightless.harvest.run import harvest
from flightless.patterns.atlas import mated_board
from flightless.patterns.recognise import catalogue
from flightless.words.worth import reason_sentence, worth_sentences

GAMES = [str(ROOT / "examples" / "harbour-street" / f"{n}.pgn") for n in ("classics", "club-2026")]
BACK_RANK = "6k1/5ppp/8/8/8/8/5PPP/4R1K1 w - - 0 1"
POINTS = {"P": 1, "N": 3, "B": 3, "R": 5, "Q": 9}


def worth(fen: str, **options: Any) -> Worth:
    found = weigh(chess.Board(fen), **options)
    assert isinstance(found, Worth), found
    return found


def facts(found: Worth, criterion: str) -> dict[str, Any]:
    return next(dict(r.facts) for r in found.reasons if r.criterion == criterion)


@pytest.fixture(scope="module")
def finds() -> list[dict[str, Any]]:
    """The finds in the games that come with Flightless."""
    return [record_document(item) for item in harvest(GAMES) if isinstance(item, Record)]


@pytest.fixture(scope="module")
def weighed(finds: list[dict[str, Any]]) -> list[Worth]:
    """Every position to be solved in them, and combinations of the literature, weighed."""
    asked = [find.get("way_in") or find for find in finds]
    positions = [ToWeigh(a["fen"], a["moves"], True) for a in asked if abs(a["moves"]) <= 4]
    positions += [ToWeigh(b.fen(), moves, True) for b, moves, _, _, _ in published()]
    return [found for found in weigh_all(positions) if isinstance(found, Worth)]


# --- the facts, by python-chess ---------------------------------------------------------------


def test_keys_and_duals_by_brute_force(weighed: list[Worth]) -> None:
    looked_at = 0
    for found in weighed:
        told = facts(found, "key")
        if told["asked"] != "mate" or found.moves > 2:
            continue
        looked_at += 1
        board = chess.Board(found.fen)
        brute = keys(board, found.moves)
        assert told["keys"] == len(brute), found.fen
        if len(brute) == 1:
            key = chess.Move.from_uci(next(iter(brute)))
            assert found.quiet == (not board.gives_check(key) and not board.is_capture(key))
        if found.moves == 2 and len(brute) == 1:
            board.push(chess.Move.from_uci(next(iter(brute))))
            duals = 0
            for reply in list(board.legal_moves):
                board.push(reply)
                duals += len(keys(board, 1)) > 1
                board.pop()
            assert told["duals_in_line"] + told["duals_elsewhere"] == duals, found.fen
        assert (found.value("key") == 1.0) == (
            len(brute) == 1 and not told["duals_in_line"] and not told["duals_elsewhere"]
        )
    assert looked_at > 50


def test_men_and_material_are_counted_right(weighed: list[Worth]) -> None:
    for found in weighed:
        board = chess.Board(found.fen)
        men = board.piece_map().values()
        assert facts(found, "clean")["men"] == len(men)
        ahead = sum(POINTS.get(m.symbol().upper(), 0) * (1 if m.color else -1) for m in men)
        assert facts(found, "natural")["ahead"] == ahead


def test_contrasts_are_one_change_and_no_mate(weighed: list[Worth]) -> None:
    looked_at = 0
    for found in weighed:
        told = facts(found, "contrast")
        if "no_mate" not in told or told["at_end"] or found.moves not in (1, 2):
            continue
        looked_at += 1
        left, right = chess.Board(found.fen), chess.Board(told["no_mate"])
        apart = {s for s in chess.SQUARES if left.piece_at(s) != right.piece_at(s)}
        places = {told["square"]} | ({told["to"]} if told["to"] else set())
        assert {chess.square_name(s) for s in apart} == places
        assert left.piece_at(chess.parse_square(told["square"])).symbol() == told["man"]
        assert right.status() == chess.STATUS_VALID
        assert not keys(right, found.moves), told["no_mate"]
    assert looked_at > 40


def test_who_takes_part_is_needed_or_moves() -> None:
    """In the back-rank mate the three pawns before the king, the rook and both kings do."""
    look = seen(chess.Board(BACK_RANK), 5, 100_000)
    assert not isinstance(look, NotFit)
    part = {chess.square_name(s) for s in taking_part(look)}
    assert part == {"e1", "g1", "g8", "f7", "g7", "h7"}


def test_who_takes_part_after_castling_and_en_passant() -> None:
    # Edward Lasker against Thomas, London 1912, could end by castling; a pawn put on d2 makes
    # that the only mate.  King and rook moved, so both take part; so do the men who hold the king.
    castling = "rn3r2/pbppq1p1/1p2pN2/8/6NP/6P1/PPPPBP1R/R3K1k1 w Q - 0 1"
    assert keys(chess.Board(castling), 1) == {"e1c1"}
    look = seen(chess.Board(castling), 1, 100_000)
    assert not isinstance(look, NotFit)
    assert {chess.A1, chess.E1, chess.G1, chess.H2} <= taking_part(look)
    assert chess.A8 not in taking_part(look)
    # By hand: only the capture in passing opens the diagonal for good, and everybody has a part.
    passing = chess.Board("7k/5K1p/8/3pP3/8/8/1B6/8 w - d6 0 1")
    assert keys(passing, 1) == {"e5d6"}
    look = seen(passing, 1, 100_000)
    assert not isinstance(look, NotFit)
    assert taking_part(look) == set(passing.piece_map())


# --- the sum moves the way it should ----------------------------------------------------------


def test_a_far_useless_man_never_makes_it_cleaner(weighed: list[Worth]) -> None:
    noise = random.Random(4)
    tried = 0
    for found in weighed:
        if found.moves not in (0, 1):
            continue
        board = chess.Board(found.fen)
        before = keys(board, 1) if found.moves else set()
        king = board.king(not board.turn if found.moves else board.turn)
        for square in noise.sample(sorted(set(chess.SQUARES) - set(board.piece_map())), 8):
            if chess.square_rank(square) in (0, 7) or chess.square_distance(square, king) < 4:
                continue
            more = board.copy(stack=False)
            more.set_piece_at(square, chess.Piece(chess.PAWN, noise.random() < 0.5))
            if not more.is_valid() or (keys(more, 1) if found.moves else set()) != before:
                continue
            now = weigh(more, from_game=True)
            if not isinstance(now, Worth) or now.moves != found.moves:
                continue
            if facts(now, "clean")["taking_part"] > facts(found, "clean")["taking_part"]:
                continue  # he took part after all: he is in somebody's way
            tried += 1
            assert now.value("clean") < found.value("clean"), more.fen()
    assert tried > 60


def test_a_second_key_lowers_the_total() -> None:
    board = chess.Board(BACK_RANK)
    board.set_piece_at(chess.D1, chess.Piece(chess.ROOK, True))
    assert len(keys(board, 1)) == 2
    found = worth(board.fen())
    assert found.value("key") == 0.3
    assert reason_sentence(found.reasons[0]) == "Two first moves mate."
    assert found.total < worth(BACK_RANK).total


def test_what_comes_from_a_game_is_more_natural() -> None:
    assert worth(BACK_RANK, from_game=True).total > worth(BACK_RANK).total
    queens = worth("6k1/5ppp/8/8/8/8/QQ3PPP/4R1K1 w - - 0 1")
    assert queens.value("natural") == 0.0
    assert "promoted" in reason_sentence(queens.reasons[2])


def test_the_total_is_the_weighted_sum(weighed: list[Worth]) -> None:
    assert sum(WEIGHTS.values()) == pytest.approx(1.0)
    for found in weighed:
        assert found.total == pytest.approx(
            sum(WEIGHTS[r.criterion] * r.value for r in found.reasons), abs=1e-4
        )
        assert all(0.0 <= r.value <= 1.0 for r in found.reasons)


# --- the order --------------------------------------------------------------------------------


def test_models_come_before_cluttered_games_of_the_same_pattern(
    finds: list[dict[str, Any]],
) -> None:
    """The models are those of the catalogue; the literature of Anderssen, smothered, Boden, Mayet
    and swallow's tail is named in their files.  The others are mates of real and club games
    with sixteen men and more."""
    games: dict[str, list[Worth]] = {}
    for find in finds:
        board = mated_board(find) if find["kind"] != "resigned" else None
        if board is None or not find["patterns"] or chess.popcount(board.occupied) < 16:
            continue
        games.setdefault(find["patterns"][0], []).append(worth(board.fen(), from_game=True))
    compared = 0
    for name in ("Anderssen", "smothered", "Boden", "Mayet", "swallow's tail", "corridor"):
        model = worth(catalogue()[name].model.fen)
        assert games[name]
        for other in games[name]:
            compared += 1
            assert model.total > other.total, (name, other.fen)
    assert compared > 10


def test_famous_combinations_come_before_what_a_club_missed(weighed: list[Worth]) -> None:
    """Boden's, Réti's and Morphy's mates (sources in published.txt), one key each and typical,
    before every position of the club with several keys or no pattern."""
    famous = [
        found
        for found in weighed
        if found.fen.split()[0]
        in {
            "2k1rb1r/ppp3pp/2n2q2/3B1b2/5P2/2P1BQ2/PP1N1P1P/2KR3R",
            "rnb1kb1r/pp3ppp/2p5/4q3/4n3/3Q4/PPPB1PPP/2KR1BNR",
            "4kb1r/p2n1ppp/4q3/4p1B1/4P3/1Q6/PPP2PPP/2KR4",
        }
    ]
    poor = [
        found
        for found in weighed
        if facts(found, "key").get("keys", 1) > 1 or facts(found, "typical")["pattern"] is None
    ]
    assert len({found.fen for found in famous}) == 3
    assert len(poor) > 10
    assert min(f.total for f in famous) > max(p.total for p in poor)


def test_the_order_is_the_same_however_they_come(weighed: list[Worth]) -> None:
    once = sorted(weighed, key=rank_of)
    shuffled = list(weighed)
    random.Random(1).shuffle(shuffled)
    assert [f.fen for f in sorted(shuffled, key=rank_of)] == [f.fen for f in once]
    for one, other in pairwise(once):
        assert one.total > other.total or (one.total == other.total and one.fen <= other.fen)
    again = weigh(chess.Board(once[0].fen), from_game=True)
    assert again == once[0]


# --- forms and words --------------------------------------------------------------------------


def test_the_json_form_comes_back(weighed: list[Worth]) -> None:
    for found in weighed:
        text = json.dumps(worth_document(found))
        assert worth_of_document(json.loads(text)) == found
    refused = refusal_document(BACK_RANK, NotFit("no reason"))
    assert worth_of_document(refused) == NotFit("no reason")


@pytest.mark.parametrize(
    "change", [{"version": 99}, {"format": "x"}, {"reasons": []}, {"reasons": [{}]}, {"total": "x"}]
)
def test_documents_that_are_none_are_refused(change: dict[str, Any]) -> None:
    with pytest.raises(FileError, match="worth"):
        worth_of_document(worth_document(worth(BACK_RANK)) | change)


def test_what_cannot_be_weighed_says_why() -> None:
    for fen in (chess.STARTING_FEN, "8/8/8/8/8/4k3/8/4K3 w - - 0 1"):
        found = weigh(chess.Board(fen), within=1)
        assert isinstance(found, NotFit)
        assert found.reason
    assert isinstance(ToWeigh(BACK_RANK, 60).worth(), NotFit)


def test_sentences() -> None:
    # Read aloud and found fit to be said; the facts behind them are tried above.
    assert worth_sentences(worth(BACK_RANK, from_game=True)) == (
        "Mate in one.",
        "One key.",
        "Nine men, six of them take part.",
        "It comes from a game; White is five pawns' worth ahead.",
        "The mate is that of the model of its pattern, back rank.",
        "The same with the pawn on h6 instead of h7: no mate.",
    )
    with pytest.raises(UsageError, match="phrasebook"):
        worth_sentences(worth(BACK_RANK), "tlh")


def test_every_sentence_is_one(weighed: list[Worth]) -> None:
    said = {sentence for found in weighed for sentence in worth_sentences(found)}
    assert len(said) > 60
    for sentence in said:
        assert sentence[0].isupper() or sentence[0].isdigit()
        assert sentence.endswith(".")
        assert "None" not in sentence
        assert "  " not in sentence


def test_no_merit_that_the_pupil_cannot_see() -> None:
    """Counters, castling rights that cannot matter, length of the proof: nothing of it counts."""
    plain = worth(BACK_RANK)
    later = worth(BACK_RANK.replace("0 1", "37 90"))
    assert later == plain
    assert worth(BACK_RANK, budget=40_000).total == plain.total


def test_more_processes_give_the_same(
    finds: list[dict[str, Any]], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("flightless.exercises.worth_keeping._BATCH", 10)
    monkeypatch.setattr("flightless.exercises.worth_keeping._MANY", 20)
    positions = [ToWeigh(find["fen"], find["moves"], True) for find in finds[:30]]
    seen_by: list[tuple[int, int]] = []
    alone = weigh_all(positions, progress=lambda done, of: seen_by.append((done, of)))
    assert alone == weigh_all(positions, jobs=2)
    assert seen_by[-1] == (30, 30)
