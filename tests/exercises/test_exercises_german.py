"""Exercises in German: every sentence that English has, the same squares, cases and genders."""

from __future__ import annotations

import re
from itertools import islice
from pathlib import Path

import chess
import pytest
from exercise_referee import ROOT

from commands import run as run_command
from flightless.exercises.exercise import Exercise
from flightless.exercises.illegal import read_line
from flightless.exercises.kinds.find_mate import FindMate
from flightless.exercises.kinds.two_positions import TwoPositions
from flightless.exercises.reasons import Reason
from flightless.exercises.registry import KINDS
from flightless.exercises.texts import kind_of, read_men
from flightless.patterns.recognise import catalogue
from flightless.words.german.pattern_names import name_of_pattern
from flightless.words.reasons import (
    LANGUAGES,
    choice_text,
    hint_text,
    kind_title,
    solution,
    speech,
    spoken,
    task,
    verdict_text,
)
from flightless.words.tasks import task_text

WORDS = re.compile(
    r"\b(the|king|queen|rook|knight|bishop|pawn|and|or|guards|protects|check|mate|with|would|"
    r"square|move|White|Black)\b"
)
SQUARE = re.compile(r"[a-h][1-8](?![\w])")
MASCULINE = "(?:Bauern?|Springer|Läufer|Turm|König)"
WRONG = [  # articles that no case of the noun has (Duden)
    rf"\bdie {MASCULINE}\b(?! auf [a-h]\d(?:,| und))",
    r"\b(?:den|dem|des|ein|einen|einem|kein|keinen|eigener) Dame\b",
    rf"\beine {MASCULINE}\b",
    rf"\bmit (?:der|die|das) {MASCULINE}\b",
    rf"\b(?:ohne|durch) (?:der|dem) {MASCULINE}\b",
    r"\b(?:Mit|mit) die\b",
    rf"\bden Bauer\b|\beinen Bauer\b|\bdem Bauer\b|schlägt der {MASCULINE} der\b",
    r"\beins Z[uü]g",
]


def _answers(exercise: Exercise) -> list[str]:
    board = exercise.board
    moves = [board.san(move) for move in islice(board.legal_moves, 8)]
    choices = [choice.answer for choice in exercise.rendering().space.choices]
    placed = ["Qa1", "Nh8 Bc3", "Ra8", "a3", "B", "A", "none", "mate", "check", "?"]
    ledger = ["f7 = f7; h8 = Qe8", "a1 = h8"] if exercise.kind == "ledger" else []
    return [exercise.answers[0], *moves, *choices, *placed, *ledger]


@pytest.fixture(scope="module")
def reasons(exercises: list[Exercise]) -> list[Reason]:
    return [e.mark(answer).reason for e in exercises[::6] for answer in _answers(e)]


def test_both_languages_have_every_sentence() -> None:
    assert LANGUAGES == ("de", "en")
    german, english = speech("de"), speech("en")
    assert german.reasons.keys() == english.reasons.keys()
    assert {reason.__name__ for reason in german.reasons} == _leaves(Reason)
    assert german.verdicts.keys() == english.verdicts.keys()
    for table in ("TASKS", "TITLES", "ROLES"):
        assert getattr(german.tasks, table).keys() == getattr(english.tasks, table).keys()
    assert set(german.tasks.TASKS) == set(KINDS)
    for verdict in english.verdicts:
        assert verdict_text(verdict, "de") != verdict_text(verdict)
    for kind in KINDS:
        assert kind_title(kind, "de") != kind_title(kind)


def _leaves(cls: type[Reason]) -> set[str]:
    under = cls.__subclasses__()
    return {name for one in under for name in _leaves(one)} if under else {cls.__name__}


def test_reasons_say_the_same_squares_in_good_german(reasons: list[Reason]) -> None:
    assert len(reasons) > 500
    for reason in reasons:
        german, english = spoken(reason, "de"), spoken(reason)
        assert len(german) == len(english) or type(reason).__name__ == "WorksIn"
        text = " ".join(german)
        if type(reason).__name__ not in ("Unreadable", "WrongChoice", "NameFits", "NameMissing"):
            assert not WORDS.search(text), text
            squares = [set(SQUARE.findall(said)) for said in (text, " ".join(english))]
            assert squares[1] <= squares[0], (german, english)
            assert not re.search(r"\d[.…][QRN]", text), text
        for sentence in german:
            assert re.match(r"[A-ZÄÖÜ„]|[a-h][1-8]\b|\d+[.…]", sentence), sentence
            assert sentence.endswith((".", "?")), sentence
            assert "  " not in sentence, sentence
            assert ".." not in sentence, sentence
            for wrong in WRONG:
                assert not re.search(wrong, sentence), (wrong, sentence)


def test_tasks_boxes_hints_and_solutions(exercises: list[Exercise]) -> None:
    for exercise in exercises[::4]:
        told = [task(exercise, "de"), kind_title(exercise.kind, "de")]
        told += [hint_text(h, "de") for h in exercise.hints() if h.of != "pattern"]
        told += [
            choice_text(exercise, choice, "de")
            for choice in exercise.rendering().space.choices
            if not choice.pattern
        ]
        for text in told:
            assert not WORDS.search(text), text
            for wrong in WRONG:
                assert not re.search(wrong, text), (wrong, text)
        if exercise.kind != "name":
            assert not WORDS.search(solution(exercise, "de")), solution(exercise, "de")


# Read aloud, and kept: one of each, so that a change is seen.
READ = [
    ("6k1/5ppp/8/8/8/8/5PPP/4R1K1 w - - 0 1", 1, "Te8", "1.Te8 ist matt: Niemand schlägt den "
     "Turm, nichts kann dazwischentreten, und der König hat kein Feld."),
    ("6k1/5pp1/7p/8/8/8/5PPP/4R1K1 w - - 0 1", 1, "Te8+", "Nach 1.Te8+ geht der König nach h7: "
     "Nichts beherrscht das Feld."),
    ("6k1/5ppp/8/8/8/8/5PPP/4R1K1 w - - 0 1", 1, "Kf1", "1.Kf1 droht 2.Te8 matt, aber nach "
     "1…Kf8 kann der König auf e8 schlagen."),
    ("6k1/5ppp/8/8/8/8/5PPP/4R1K1 w - - 0 1", 1, "Tf8", "Der Turm auf e1 kann nicht nach f8 "
     "ziehen."),
    ("6k1/5ppp/8/8/8/8/5PPP/4R1K1 w - - 0 1", 1, "De8", "Weiß hat keine Dame, die nach e8 ziehen "
     "könnte."),
    ("7k/8/5K2/6Q1/8/8/8/8 w - - 0 1", 1, "Dg6", "Nach 1.Dg6 ist es patt: Der König auf h8 steht "
     "nicht im Schach, und Schwarz hat keinen erlaubten Zug."),
]  # fmt: skip


@pytest.mark.parametrize(("fen", "moves", "answer", "told"), READ)
def test_sentences_that_were_read_aloud(fen: str, moves: int, answer: str, told: str) -> None:
    exercise = FindMate(position=fen, answers=("Re8#",), moves=moves)
    assert spoken(exercise.mark(answer).reason, "de")[0] == told


def test_tasks_of_plain_sheets() -> None:
    mated = chess.Board("4R1k1/5ppp/8/8/8/8/5PPP/6K1 b - - 0 1")
    assert task_text(mated, None, "de") == (
        "Schwarz ist matt. Warum? Was sperrt jedes Feld um den König?"
    )


def test_german_letters_are_read_as_english_ones_are() -> None:
    # D, T, L, S of German SAN; B stays a bishop in both.
    board = chess.Board("r1b2rk1/1P3ppp/8/8/8/8/5PPP/3QR1K1 w - - 0 1")
    german, refused = read_line(board, "1.Te8 Txe8 2.Dd8 Txd8")
    assert refused is None
    english, _ = read_line(board, "1.Re8 Rxe8 2.Qd8 Rxd8")
    assert german == english
    assert read_line(board, "bxa8=D")[0] == read_line(board, "bxa8=Q")[0]
    assert read_men("Lf6 und Springer auf g5") == read_men("Bf6 and knight on g5")
    assert [kind_of(word) for word in ("Läufer", "S", "eine Dame", "B")] == [
        chess.BISHOP,
        chess.KNIGHT,
        chess.QUEEN,
        chess.BISHOP,
    ]


def test_german_letters_in_the_defence_of_two_positions() -> None:
    # Greco, 1620: with the knight on h6 he takes the queen.
    pair = TwoPositions(
        position="rnbq1bnr/pppp2kp/8/5Qp1/2BPP2P/8/PPP2PP1/RNB1K2R w KQ - 0 1",
        other="rnbq1b1r/pppp2kp/7n/5Qp1/2BPP2P/8/PPP2PP1/RNB1K2R w KQ - 0 1",
        move="Qf7",
        moves=2,
        answers=("A",),
    )
    german, english = pair.mark("A, in B Sxf7"), pair.mark("A, in B Nxf7")
    assert german == english
    assert german.verdict == "right"


def test_every_pattern_is_called_something() -> None:
    names = [name_of_pattern(pattern.name) for pattern in catalogue().patterns]
    assert all(names)
    assert len(set(names)) == len(names)
    assert name_of_pattern("smothered") == "das erstickte Matt"
    assert name_of_pattern("Cozio") == "Cozio's mate"  # no German name is known


def test_commands_speak_german(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "set.toml"
    positions = ROOT / "examples" / "harbour-street" / "coach-positions.epd"
    made = ("make", "--from", str(positions), "--out", str(file), "--count", "8")
    assert _run(*made, capsys=capsys)[0] == 0
    code, out, _ = _run("show", str(file), "--language", "de", capsys=capsys)
    assert code == 0
    assert "am Zug" in out
    assert not re.search(r"\b(to move|Black|White)\b", out.split("\n", 1)[1])
    code, out, _ = _run("mark", str(file), "1", "??", "--language", "de", capsys=capsys)
    assert code == 2
    assert out.startswith("Nicht möglich.")
    pdf = tmp_path / "set.pdf"
    arguments = ("sheet", str(file), "--out", str(pdf), "--language", "de")
    assert _run(*arguments, capsys=capsys)[0] == 0
    from pypdf import PdfReader

    text = "".join(page.extract_text() for page in PdfReader(pdf).pages)
    assert "Lösungen" in text
    assert "Answer key" not in text
    code, _, err = _run("show", str(file), "--language", "fr", capsys=capsys)
    assert code == 2
    assert "no phrasebook for language 'fr'" in err


def _run(*arguments: str, capsys: pytest.CaptureFixture[str]) -> tuple[int, str, str]:
    return run_command("exercises", *arguments, capsys=capsys)
