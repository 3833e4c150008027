"""The JSON records say what the findings say, and hold nothing that JSON cannot."""

from __future__ import annotations

import json

import chess

from flightless.cases import records
from flightless.cases.breaks import breaks_of, rescues_of
from flightless.cases.build import case_of
from flightless.cases.duties import either_would_do
from flightless.cases.missing import missing_of
from flightless.cases.ownking import own_king
from flightless.cases.tries import other_keys, tries_of
from flightless.cases.variations import start_variations, variations_of
from flightless.cases.wayin import way_in
from flightless.prove import prove

DOUBLE = "5r1k/p4p1p/6p1/4N3/8/8/1B3PPP/6K1 w - - 0 1"
MATED = "4R1k1/5ppp/8/8/8/7P/5PP1/6K1 b - - 0 2"


def there_and_back(record: object) -> object:
    return json.loads(json.dumps(record, allow_nan=False))


def test_records_of_a_mate() -> None:
    case = case_of(chess.Board(MATED))
    breaks = there_and_back(records.breaks_record(breaks_of(case)))
    luft = [b for b in breaks if b["kind"] == "luft" and b["change"]["to"] == "h6"]
    assert [b["first"] for b in luft] == ["g8h7"]
    assert luft[0]["change"]["man"] == "p"
    rescues = there_and_back(records.rescues_record(rescues_of(case)))
    assert {r["act"] for r in rescues} == {"capture", "interposition", "in between", "several"}
    between = next(r for r in rescues if r["act"] == "in between")
    assert between["target"] == "f8"
    assert between["men"] == {"N": ["f8"], "B": ["f8"], "R": ["f8"], "Q": ["f8"]}
    kept = there_and_back(records.variations_record(variations_of(case)))
    assert [c["to"] for c in kept["slid"]] == ["a8", "b8", "c8", "d8"]
    assert [b["blocker"] for b in kept["blockers"]] == ["f7", "g7", "h7"]
    assert {"action": "replaced", "square": "g7", "man": "p", "instead": "r"} in kept["blockers"][
        1
    ]["own"]
    king = there_and_back(records.own_king_record(own_king(case)))
    assert (king["weak"], king["shut_in"], king["flights"]) == (False, False, ["h2"])
    assert king["luft"] == [{"square": "h2", "pawn": "h3"}]
    queen = case_of(chess.Board("r4rk1/pb3pQp/1p3Pp1/8/8/8/5KPP/4R3 b - - 0 1"))
    assert there_and_back(records.either_record(either_would_do(queen))) == []


def test_records_of_what_is_missing() -> None:
    check = there_and_back(
        records.near_record(missing_of(chess.Board("4R1k1/5pp1/7p/8/8/8/8/6K1 b - - 0 1")))
    )
    assert check["kind"] == "check"
    assert check["free"] == ["h7"]
    assert [f["square"] for f in check["check"]["flights"]] == ["h7"]
    assert {"action": "added", "square": "g6", "man": "P"} in check["changes"]
    stalemate = there_and_back(
        records.near_record(missing_of(chess.Board("kb5R/8/K7/8/8/8/8/8 b - - 0 1")))
    )
    assert stalemate["stuck"] == [{"man": "b8", "why": "pinned", "by": ["h8"]}]
    quiet = there_and_back(
        records.near_record(missing_of(chess.Board("3r2k1/5ppp/8/8/8/7P/5PP1/4R1K1 w - - 0 1")))
    )
    assert [c["move"] for c in quiet["checks"]] == ["e1e8"]
    assert {"change": {"action": "removed", "square": "d8", "man": "r"}, "mate": "e1e8"} in quiet[
        "helped"
    ]


def test_records_of_the_way_in() -> None:
    board = chess.Board(DOUBLE)
    proof = prove(board, 2)
    way = there_and_back(records.way_record(way_in(proof)))
    assert way["attacker"] == "white"
    assert way["profile"] == [1, 0]
    assert [s["side"] for s in way["steps"]] == ["attacker", "defender", "attacker"]
    kinds = {n["kind"] for n in way["steps"][0]["natures"]}
    assert {"check", "discovered check", "double check"} <= kinds
    (other,) = there_and_back(records.other_keys_record(other_keys(proof)))
    assert {other["key"], way["steps"][0]["move"]} == {"e5f7", "e5g6"}
    found = tries_of(board, 2)
    assert found.complete
    tries = [there_and_back(records.try_record(one)) for one in found.tries]
    assert {t["move"]: t["refutation"] for t in tries} == {"e5c6": "f7f6", "e5g4": "f7f6"}
    start = there_and_back(records.start_record(start_variations(board, 2)))
    assert [c["to"] for c in start["slid"]] == ["a1", "c3", "d4"]
