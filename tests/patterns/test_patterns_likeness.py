"""Likeness: the measure's own rules, the index against the plain measure, and that mates of one
name come before others."""

from __future__ import annotations

from itertools import combinations, product
from pathlib import Path

import chess
import numpy as np
import pytest

from flightless.cases.build import case_of
from flightless.errors import FileError, UsageError
from flightless.patterns.geometry import geometry_key
from flightless.patterns.like import LikenessIndex
from flightless.patterns.likeness import WEIGHTS, features_of, likeness
from flightless.patterns.recognise import catalogue


def catalogue_keys() -> dict[str, list[str]]:
    """For each name the keys of its model and variations."""
    return {
        pattern.name: [
            geometry_key(case_of(chess.Board(example.fen)))
            for example in (pattern.model, *pattern.variations)
        ]
        for pattern in catalogue().patterns
    }


KEYS = catalogue_keys()
ALL_KEYS = sorted({key for keys in KEYS.values() for key in keys})


def test_it_is_1_for_equal_keys_and_the_same_both_ways() -> None:
    assert sum(WEIGHTS.values()) == pytest.approx(1)
    for key in ALL_KEYS:
        assert likeness(key, key).value == pytest.approx(1)
    for first, second in combinations(ALL_KEYS, 2):
        there, back = likeness(first, second), likeness(second, first)
        assert there.value == pytest.approx(back.value)
        assert 0 <= there.value < 1 or features_of(first) == features_of(second)


def test_parts_add_up_and_say_what_each_side_has() -> None:
    first = geometry_key(case_of(chess.Board("R5k1/5ppp/8/8/8/8/8/K7 b - - 0 1")))
    second = geometry_key(case_of(chess.Board("Q6k/6pp/8/8/8/8/8/K7 b - - 0 1")))
    found = likeness(first, second)
    assert found.value == pytest.approx(sum(part.weight * part.value for part in found.parts))
    parts = {part.name: part for part in found.parts}
    assert parts["check"].first == ("rook from afar",)
    assert parts["check"].second == ("queen from afar, straight",)
    assert parts["own men"].first == ("pawn",) * 3
    assert parts["own men"].second == ("pawn",) * 2
    assert parts["own men"].value == pytest.approx(2 / 3)
    assert parts["place"].second == ("in a corner, checked along the edge",)
    assert parts["place"].value == pytest.approx(0.3)
    assert len(found.squares) == 8
    alike = sum(pair.first_state == pair.second_state for pair in found.squares)
    assert alike == 8 * parts["reasons"].value


def test_squares_are_compared_in_the_best_turn() -> None:
    """The same net but for one man, reflected: the pawn makes the keys keep their turn."""
    up = "4k3/2P2Q2/8/8/K7/8/5R2/8 b - - 0 1"
    side = "8/8/1R4Q1/7k/8/6P1/8/3K4 b - - 0 1"
    keys = [geometry_key(case_of(chess.Board(fen))) for fen in (up, side)]
    assert keys[0] != keys[1]
    found = likeness(*keys)
    assert found.value == pytest.approx(1)
    assert all(pair.first_state == pair.second_state for pair in found.squares)
    assert found.turn > 1


def test_mates_of_one_name_are_more_alike_than_others() -> None:
    """On the whole: the mean within a name is well above the mean between names."""
    within = [likeness(a, b).value for keys in KEYS.values() for a, b in combinations(keys, 2)]
    between = [
        likeness(KEYS[one][0], KEYS[two][0]).value for one, two in combinations(sorted(KEYS), 2)
    ]
    assert np.mean(within) > np.mean(between) + 0.2


def test_the_index_gives_what_the_measure_gives() -> None:
    index = LikenessIndex.of(ALL_KEYS)
    assert len(index) == len(ALL_KEYS)
    for key in ALL_KEYS[::7]:
        values = index.values(key)
        for other, value in zip(ALL_KEYS, values, strict=True):
            assert value == pytest.approx(likeness(key, other).value, abs=1e-5)


def test_the_nearest_come_in_order_and_equals_by_number() -> None:
    keys = [ALL_KEYS[0], ALL_KEYS[5], ALL_KEYS[0], ALL_KEYS[9], ALL_KEYS[0]]
    index = LikenessIndex.of(keys)
    found = index.nearest(ALL_KEYS[0], 4)
    assert [number for number, _ in found[:3]] == [0, 2, 4]
    assert [value for _, value in found] == sorted((v for _, v in found), reverse=True)
    assert index.nearest(ALL_KEYS[0], 2) == found[:2]
    assert len(index.nearest(ALL_KEYS[0], 99)) == 5
    assert all(value >= 0.99 for _, value in index.nearest(ALL_KEYS[0], 5, least=0.99))
    assert LikenessIndex.of([]).nearest(ALL_KEYS[0]) == ()


def test_an_index_is_saved_and_read_back(tmp_path: Path) -> None:
    index = LikenessIndex.of(ALL_KEYS)
    path = tmp_path / "keys.npz"
    index.save(path)
    again = LikenessIndex.load(path)
    assert np.array_equal(again.columns, index.columns)
    assert np.array_equal(again.which, index.which)
    for bad in (b"", b"not numpy", path.read_bytes()[:200]):
        (tmp_path / "bad.npz").write_bytes(bad)
        with pytest.raises(FileError, match=r"bad\.npz"):
            LikenessIndex.load(tmp_path / "bad.npz")
    np.save(tmp_path / "bad.npy", np.zeros(3))
    with pytest.raises(FileError, match=r"bad\.npy"):
        LikenessIndex.load(tmp_path / "bad.npy")
    np.savez(tmp_path / "other.npz", columns=np.zeros((2, 2)), which=np.zeros(3))
    with pytest.raises(FileError, match="other columns"):
        LikenessIndex.load(tmp_path / "other.npz")
    with pytest.raises(FileError, match="nowhere"):
        LikenessIndex.load(tmp_path / "nowhere.npz")


def test_other_texts_are_refused() -> None:
    with pytest.raises(UsageError):
        LikenessIndex.of(["what"])
    for first, second in product(["what", ALL_KEYS[0]], repeat=2):
        if "what" in (first, second):
            with pytest.raises(UsageError):
                likeness(first, second)
