"""Finding: every filter against plain Python over the same records, on every kind of database."""

from __future__ import annotations

import unicodedata
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import fields
from pathlib import Path
from typing import Any

import chess
import pytest
from casebook_samples import MATED, TO_MATE, Record, key_of, keys_of, mates_in, records
from hypothesis import given, settings
from hypothesis import strategies as st

import flightless.casebook.book as book_module
from flightless.casebook import Casebook, Filter, Weighed, query
from flightless.errors import UsageError

RECORDS = records()


def test_samples_are_what_they_say() -> None:
    """python-chess decides every sample exhaustively."""
    for fen, _, _ in MATED:
        assert chess.Board(fen).is_checkmate(), fen
    for fen, moves, keys, line, _, _ in TO_MATE:
        board = chess.Board(fen)
        assert board.is_valid()
        if moves is None:
            continue
        assert not any(mates_in(board, n) for n in range(1, moves))
        assert mates_in(board, moves)
        if keys is not None:
            assert keys_of(board, moves) == keys
        for san in line or []:
            board.push_san(san)
        assert not line or board.is_checkmate()


@pytest.fixture(scope="module")
def filled(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Casebook]:
    """A SQLite casebook with all records, some of them tagged, used and graded."""
    with Casebook.open(tmp_path_factory.mktemp("finding") / "casebook.sqlite") as book:
        fill(book)
        yield book


def fill(book: Casebook) -> None:
    counts = book.add_records(RECORDS)
    assert counts.refusals == 0, counts.refused
    marks = {e.id: marks_of(key_of({"fen": e.fen})) for e in book.find(size=1000).entries}
    for name in TAGS:
        book.tag([id for id, found in marks.items() if name in found["tags"]], name)
    book.mark_used([id for id, found in marks.items() if found["lessons"]], "Back rank")
    book.grade({id: found["difficulty"] for id, found in marks.items()})
    book.set_worths(
        {id: Weighed(found["worth"], {}) for id, found in marks.items() if found["weighed"]}
    )


TAGS = ("for Tuesday", "hard", "100%")


def marks_of(key: str) -> dict[str, Any]:
    """The coach's marks on a position, drawn from its text alone."""
    number = sum(key.encode())
    return {
        "tags": [name for bit, name in enumerate(TAGS) if number >> bit & 1],
        "lessons": ["Back rank"] if number % 3 == 0 else [],
        "difficulty": None if number % 5 == 0 else number % 7 / 2,
        "weighed": number % 11 != 0,
        "worth": None if number % 6 == 0 else number % 5 / 4,
    }


def standing(key: str) -> tuple[float, str]:
    """What the order of worth is made of: those that could not be weighed come after those
    not weighed yet, these after all others, and equals go by FEN."""
    marks = marks_of(key)
    worth = marks["worth"] if marks["worth"] is not None else -2.0
    return -(worth if marks["weighed"] else -1.0), key


def pages(book: Casebook, wanted: Filter, size: int = 7, **options: Any) -> list[Any]:
    """All entries page by page, with the totals checked on the way."""
    found: list[Any] = []
    after = None
    while True:
        page = book.find(wanted, after=after, size=size, count=after is None, **options)
        found += page.entries
        if after is None:
            assert page.total == book.count(wanted)
        after = page.after
        if after is None:
            return found


# The same questions, asked of the records in plain Python.


def plain(text: str) -> str:
    stripped = "".join(
        c for c in unicodedata.normalize("NFD", text) if unicodedata.category(c) != "Mn"
    )
    return stripped.lower()


def men(fen: str) -> str:
    return "".join(c for c in fen.split()[0] if c.isalpha())


def side(record: Record) -> str:
    mover = "white" if record["fen"].split()[1] == "w" else "black"
    other = "black" if mover == "white" else "white"
    return other if record["moves"] is not None and record["moves"] <= 0 else mover


def phase(fen: str) -> str:
    letters = men(fen)
    if sum(letters.upper().count(letter) for letter in "QRBN") <= 4:
        return "endgame"
    board = chess.Board(fen)
    homes = {"N": "b1 g1", "B": "c1 f1", "n": "b8 g8", "b": "c8 f8"}
    at_home = sum(
        board.piece_at(chess.parse_square(square)) == chess.Piece.from_symbol(letter)
        for letter, squares in homes.items()
        for square in squares.split()
    )
    return "opening" if at_home >= 4 else "middlegame"


def natures(record: Record) -> set[str]:
    found = set()
    for key in record["keys"]:
        board = chess.Board(record["fen"])
        move = chess.Move.from_uci(key)
        if board.is_capture(move):
            found.add("capture")
        if board.gives_check(move):
            found.add("check")
        elif not board.is_capture(move):
            found.add("quiet")
    return found


def year(record: Record) -> int | None:
    date = record["source"]["date"][:4]
    return int(date) if date.isdigit() else None


LETTERS = {"king": "K", "queen": "Q", "rook": "R", "bishop": "B", "knight": "N", "pawn": "P"}


def fits(wanted: Filter, same: list[Record]) -> bool:
    """Whether a position, given by all records of it, passes the filter."""
    first = same[0]
    marks = marks_of(key_of(first))
    games = [record["source"] for record in same]

    def within(value: float | None, limits: tuple[float | None, float | None]) -> bool:
        low, high = limits
        if low is None and high is None:
            return True
        if value is None:
            return False
        return (low is None or value >= low) and (high is None or value <= high)

    def mentions(text: str) -> bool:
        named = [game[name] for game in games for name in ("white", "black", "event", "site")]
        named = [name for name in named if name != "?"]
        return any(
            plain(text) in plain(name) for name in (*named, *marks["tags"], *first["patterns"])
        )

    tandem = first["tandem"]
    checks: dict[str, Callable[[Any], bool]] = {
        "patterns": lambda names: set(names) <= set(first["patterns"]),
        "moves": lambda moves: (
            within(first["moves"], moves) if isinstance(moves, tuple) else first["moves"] == moves
        ),
        "tandem": lambda letters: (
            tandem is not None and {LETTERS[kind] for kind in tandem} == set(letters)
        ),
        "nature": lambda word: word in natures(first),
        "side": lambda word: side(first) == word,
        "phase": lambda word: phase(first["fen"]) == word,
        "years": lambda limits: any(within(year(record), limits) for record in same),
        "player": lambda name: any(
            plain(name) in plain(game[colour])
            for game in games
            for colour in ("white", "black")
            if game[colour] != "?"
        ),
        "kind": lambda kind: any(record["kind"] == kind for record in same),
        "unused": lambda yes: not yes or not marks["lessons"],
        "lesson": lambda name: name in marks["lessons"],
        "difficulty": lambda limits: within(marks["difficulty"], limits),
        "men": lambda limits: within(len(men(first["fen"])), limits),
        "tags": lambda names: set(names) <= set(marks["tags"]),
        "text": mentions,
    }
    default = Filter()
    return all(
        checks[field.name](getattr(wanted, field.name))
        for field in fields(Filter)
        if getattr(wanted, field.name) != getattr(default, field.name)
    )


def expected(wanted: Filter) -> list[str]:
    together: dict[str, list[Record]] = {}
    for record in RECORDS:
        together.setdefault(key_of(record), []).append(record)
    return [key for key, same in together.items() if fits(wanted, same)]


YEARS = st.one_of(st.none(), st.integers(1875, 2025))


def _ordered(pair: tuple[Any, Any]) -> tuple[Any, Any]:
    low, high = pair
    return (high, low) if low is not None and high is not None and low > high else pair


RANGES = st.tuples(YEARS, YEARS).map(_ordered)
LEVELS = st.one_of(st.none(), st.floats(0, 4))
FILTERS = st.fixed_dictionaries(
    {},
    optional={
        "patterns": st.lists(
            st.sampled_from(["back rank", "corridor", "Légal", "smothered", "no such name"]),
            max_size=2,
        ).map(tuple),
        "moves": st.one_of(
            st.integers(-1, 3), st.tuples(st.integers(-1, 3), st.integers(-1, 3)).map(_ordered)
        ),
        "tandem": st.sampled_from(["R", "QP", "NQ", "KR", "RB"]),
        "nature": st.sampled_from(["check", "quiet", "capture", "double check"]),
        "side": st.sampled_from(["white", "black"]),
        "phase": st.sampled_from(["opening", "middlegame", "endgame"]),
        "years": RANGES,
        "player": st.sampled_from(["sand", "LÉA", "ivic", "o'b", "%", "_", "\\", "nobody"]),
        "kind": st.sampled_from(["mated", "missed", "resigned", "kept"]),
        "unused": st.booleans(),
        "lesson": st.sampled_from(["Back rank", "Another"]),
        "difficulty": st.tuples(LEVELS, LEVELS).map(_ordered),
        "men": st.tuples(st.none(), st.integers(2, 32)),
        "tags": st.lists(st.sampled_from(["for Tuesday", "hard", "%"]), max_size=2).map(tuple),
        "text": st.sampled_from(["lamp", "HARBOUR", "legal", "tues", "%", "_", "?", "' OR 1=1 --"]),
    },
)


@settings(max_examples=80, deadline=None)
@given(
    parts=FILTERS,
    size=st.integers(9, 60),
    many=st.sampled_from([3, 50_000]),
    listed=st.sampled_from([0, 1000]),
    few=st.sampled_from([0, 30_000]),
)
def test_filters_agree_with_plain_python(
    filled: Casebook, parts: dict[str, Any], size: int, many: int, listed: int, few: int
) -> None:
    """Both with names that few games or positions have and with names that many have."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(query, "_MANY", many)
        patch.setattr(query, "_MOST_LISTED", listed)
        patch.setattr(query, "_FEW", few)
        _agree(filled, Filter(**parts), size)


def _agree(filled: Casebook, wanted: Filter, size: int) -> None:
    found = [key_of({"fen": entry.fen}) for entry in pages(filled, wanted, size)]
    assert found == expected(wanted)
    backwards = [entry.fen for entry in pages(filled, wanted, size, newest_first=True)]
    assert [key_of({"fen": fen}) for fen in backwards] == found[::-1]
    best = [key_of({"fen": e.fen}) for e in pages(filled, wanted, size, best_first=True)]
    assert best == sorted(found, key=standing)


SINGLE = [
    Filter(),
    Filter(patterns=("back rank",)),
    Filter(patterns=("back rank", "corridor")),
    Filter(moves=0),
    Filter(moves=(1, 2)),
    Filter(tandem="R"),
    Filter(nature="check"),
    Filter(side="black"),
    Filter(phase="middlegame"),
    Filter(years=(1900, 1930)),
    Filter(years=(None, 1900)),
    Filter(player="Sand"),
    Filter(kind="missed"),
    Filter(unused=True),
    Filter(lesson="Back rank"),
    Filter(difficulty=(1.0, None)),
    Filter(men=(None, 8)),
    Filter(tags=("hard",)),
    Filter(text="lamp"),
    Filter(text="100%"),
    Filter(patterns=("corridor",), moves=2, side="white", unused=True),
]


def test_every_filter_on_every_database(book: Casebook) -> None:
    fill(book)
    for wanted in SINGLE:
        found = [key_of({"fen": entry.fen}) for entry in pages(book, wanted)]
        assert found == expected(wanted), wanted
        assert found, f"the samples show nothing of {wanted}"
        best = [key_of({"fen": e.fen}) for e in pages(book, wanted, best_first=True)]
        assert best == sorted(found, key=standing), wanted


def test_many_are_counted_so_far_and_said_to_be_more(
    book: Casebook, monkeypatch: pytest.MonkeyPatch
) -> None:
    book.add_records(RECORDS)
    wanted = Filter(text="harbour")
    everything = book.count()
    assert book.find(wanted, size=5).total == everything == book.count(wanted)
    monkeypatch.setattr(query, "_MANY", 4)
    monkeypatch.setattr(book_module, "_MOST_COUNTED", everything)
    page = book.find(wanted, size=5)
    assert (page.total, page.more_than_total) == (everything, False)
    monkeypatch.setattr(book_module, "_MOST_COUNTED", 10)
    page = book.find(wanted, size=5)
    assert (page.total, page.more_than_total) == (10, True)
    assert book.count(wanted) == everything


def test_entries_say_what_the_records_said(filled: Casebook) -> None:
    together: dict[str, list[Record]] = {}
    for record in RECORDS:
        together.setdefault(key_of(record), []).append(record)
    for entry in pages(filled, Filter()):
        same = together[key_of({"fen": entry.fen})]
        first = same[0]
        assert entry.moves == first["moves"]
        assert set(entry.keys) == set(first["keys"])
        assert entry.patterns == tuple(first["patterns"])
        assert set(entry.kinds) == {record["kind"] for record in same}
        assert entry.occurrences == len(same)
        years = [found for found in map(year, same) if found is not None]
        assert entry.first is not None
        assert entry.first.game.year == min(years, default=None)
        assert entry.board.fen() == entry.fen
        details = filled.get(entry.id)
        told = {(o.game.number, o.ply, o.kind) for o in details.occurrences}
        assert told == {(r["game"], r["ply"], r["kind"]) for r in same}
        assert all(o.facts == {"found_by": "full width"} for o in details.occurrences)


def test_statistics_count_what_is_there(filled: Casebook) -> None:
    together: dict[str, Record] = {}
    for record in RECORDS:
        together.setdefault(key_of(record), record)
    counted = filled.statistics()
    assert counted.positions == len(together)
    assert counted.occurrences == len(RECORDS)
    assert counted.games == len(RECORDS)
    assert counted.patterns == Counter(n for r in together.values() for n in r["patterns"])
    assert counted.sides == Counter(side(record) for record in together.values())
    assert counted.phases == Counter(phase(record["fen"]) for record in together.values())
    assert counted.moves == Counter(
        "not known" if r["moves"] is None else str(r["moves"]) for r in together.values()
    )
    assert counted.tags == Counter(t for key in together for t in marks_of(key)["tags"])
    assert counted.unused == sum(not marks_of(key)["lessons"] for key in together)
    found = [y for y in map(year, RECORDS) if y is not None]
    assert counted.years == (min(found), max(found))


@pytest.mark.parametrize(
    ("wanted", "words"),
    [
        (Filter(nature="pretty"), "no nature of a key"),
        (Filter(tandem="queen and dragon"), "'dragon' is no kind of man"),
        (Filter(moves=(3, 1)), "the range of moves is empty: from 3 to 1"),
        (Filter(years=(1950, 1900)), "the range of years is empty"),
        (Filter(difficulty=(float("nan"), None)), "must be a number"),
        (Filter(text="  "), "the text to look for is empty"),
        (Filter(player=""), "the player to look for is empty"),
    ],
)
def test_senseless_filters_are_refused(filled: Casebook, wanted: Filter, words: str) -> None:
    with pytest.raises(UsageError, match=words):
        filled.find(wanted)


def test_pages_have_a_size(filled: Casebook) -> None:
    for size in (0, 1001):
        with pytest.raises(UsageError, match="a page has 1 to 1000 entries"):
            filled.find(size=size)


def test_a_number_that_is_not_there(filled: Casebook) -> None:
    with pytest.raises(UsageError, match="the casebook has no position 999999"):
        filled.get(999999)


def test_pages_stay_whole_while_others_add_and_remove(tmp_path: Path) -> None:
    with Casebook.open(tmp_path / "casebook.sqlite") as book:
        book.add_records(RECORDS[:40])
        first = book.find(size=10)
        seen = [entry.id for entry in first.entries]
        book.remove(seen[3])
        book.add_records(RECORDS[40:60])
        while first.after is not None:
            first = book.find(size=10, after=first.after)
            seen += [entry.id for entry in first.entries]
        assert len(seen) == len(set(seen))
        assert seen == sorted(seen)
        assert len(seen) == book.count() + 1
