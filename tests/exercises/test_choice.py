"""A set chosen for a sheet: varied, short first, the same for the same input."""

from __future__ import annotations

from flightless.exercises.choice import Candidate, choose


def candidate(number: int, moves: int, pattern: str, keys: int = 1) -> Candidate:
    return Candidate(
        f"fen {number}", moves, keys, pattern, f"skeleton {number}", "", f"game {number}"
    )


def test_all_are_kept_in_order_when_there_are_no_more_than_wanted() -> None:
    few = [candidate(1, 3, "Greco"), candidate(2, 1, "Boden")]
    assert choose(few, 8) == few


def test_lengths_and_patterns_are_taken_in_turn_and_short_mates_come_first() -> None:
    many = [candidate(n, 2, "corridor") for n in range(20)]
    many += [candidate(20 + n, 1, "back rank") for n in range(20)]
    many += [candidate(50, 3, "smothered"), candidate(51, 2, "Greco"), candidate(52, 0, "Boden")]
    chosen = choose(many, 6)
    assert [c.moves for c in chosen] == [1, 1, 1, 2, 2, 3]
    assert {c.pattern for c in chosen} == {"back rank", "corridor", "Greco", "smothered"}


def test_no_skeleton_and_no_game_comes_twice() -> None:
    twins = [Candidate(f"fen {n}", 2, 1, "corridor", "same", "", f"game {n}") for n in range(5)] + [
        Candidate(f"other {n}", 2, 1, "Greco", f"s{n}", "", "one game") for n in range(5)
    ]
    assert len(choose(twins, 4)) == 2


def test_single_solutions_go_before_others() -> None:
    many = [candidate(n, 2, "", keys=2) for n in range(5)] + [candidate(9, 2, "")]
    assert choose(many, 1)[0].keys == 1


def test_mated_positions_fill_up_only_when_nothing_else_is_left() -> None:
    many = [candidate(n, 0, "") for n in range(5)] + [candidate(9, 1, "")]
    assert sorted(c.moves or 0 for c in choose(many, 3)) == [0, 0, 1]
