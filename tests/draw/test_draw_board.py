"""The board picture: well formed, every man in his place, hatched, legible when small."""

from __future__ import annotations

import itertools
import random
import re
from collections.abc import Callable
from xml.etree import ElementTree

import chess
import pytest

from flightless.cases.case import Man
from flightless.draw.board import board_svg
from flightless.draw.ink import ACCENT, INK, OKABE_ITO, PAPER, contrast, grey
from flightless.draw.marks import Marks, Role
from flightless.draw.men import BOOK, SMALL, man
from flightless.draw.reading import position_in_words
from flightless.errors import PositionError, UsageError

Placements = Callable[[str, chess.Color], dict[chess.Square, str]]
Greys = Callable[[str, int], list[list[int]]]
SVG = "{http://www.w3.org/2000/svg}"

FULL = Marks(
    king=chess.H8,
    blocked=(chess.G8,),
    guarded=(chess.G7, chess.H7),
    off_board=((0, 1), (1, 0), (1, 1), (-1, 1), (1, -1)),
    one_only=(chess.G7,),
    checks=(chess.A1, chess.G6),
    supports=(chess.F6,),
    needed=(chess.F6,),
    not_needed=(chess.G8,),
    changed=(chess.B3,),
    gone=(Man(chess.B3, chess.Piece.from_symbol("n")),),
    free=(chess.B4, chess.G2),
    held_off=(chess.C7,),
    defended=(chess.B5, chess.F2),
)


def _random_boards(count: int) -> list[chess.Board]:
    rng = random.Random(11)
    boards = []
    for _ in range(count):
        board = chess.Board()
        for _ in range(rng.randrange(80)):
            moves = list(board.legal_moves)
            if not moves:
                break
            board.push(rng.choice(moves))
        boards.append(board)
    return boards


@pytest.mark.parametrize("perspective", chess.COLORS)
def test_every_man_stands_where_python_chess_has_him(
    placements: Placements, perspective: chess.Color
) -> None:
    """Referee: python-chess's piece map; the places are read back from the drawing alone."""
    for board in _random_boards(60):
        drawn = placements(board_svg(board, perspective=perspective), perspective)
        assert drawn == {s: p.symbol() for s, p in board.piece_map().items()}


def test_corners_of_the_board_by_the_laws(placements: Placements) -> None:
    """FIDE Laws 2.1: a white square at each player's right; 2.3: White's rook on a1."""
    svg = board_svg(chess.STARTING_FEN)
    assert 'data-square="a1"' in svg
    use = next(
        u for u in ElementTree.fromstring(svg).iter(f"{SVG}use") if u.get("data-square") == "a1"
    )
    assert use.get("transform") == "translate(0 700)"
    assert use.get("data-man") == "R"
    turned = board_svg(chess.STARTING_FEN, perspective=chess.BLACK)
    assert placements(turned, chess.BLACK)[chess.A1] == "R"


@pytest.mark.parametrize("size", [90, 150, 360, 1200])
@pytest.mark.parametrize("coordinates", [True, False])
@pytest.mark.parametrize("side_mark", [True, False])
def test_well_formed_and_self_contained(size: int, coordinates: bool, side_mark: bool) -> None:
    svg = board_svg(
        chess.STARTING_FEN, marks=FULL, size=size, coordinates=coordinates, side_mark=side_mark
    )
    root = ElementTree.fromstring(svg)
    assert root.tag == f"{SVG}svg"
    assert root.get("role") == "img"
    assert root.get("width") == str(size)
    ids = [e.get("id") for e in root.iter() if e.get("id")]
    assert len(ids) == len(set(ids))
    assert str(root.get("aria-labelledby")).split() == ids[:2]
    targets = {str(u.get("{http://www.w3.org/1999/xlink}href"))[1:] for u in root.iter(f"{SVG}use")}
    assert targets <= set(ids)
    assert "url(" not in svg  # nothing that another file or a pattern engine must supply
    assert "foreignObject" not in svg
    assert "style=" not in svg
    letters = {t.text for t in root.iter(f"{SVG}text")}
    assert letters == (set("abcdefgh12345678") if coordinates else set())
    assert ('class="side"' in svg) is side_mark


def test_ids_begin_with_the_prefix() -> None:
    root = ElementTree.fromstring(board_svg(chess.STARTING_FEN, prefix="lesson4"))
    assert all(str(e.get("id")).startswith("lesson4-") for e in root.iter() if e.get("id"))
    one, other = board_svg(chess.STARTING_FEN), board_svg("8/8/8/8/8/8/8/8 w - - 0 1")
    ids = [{e.get("id") for e in ElementTree.fromstring(s).iter()} - {None} for s in (one, other)]
    assert not ids[0] & ids[1]


def test_same_position_same_bytes() -> None:
    assert board_svg(chess.STARTING_FEN, marks=FULL) == board_svg(chess.Board(), marks=FULL)


def test_the_side_mark_tells_by_place_and_by_filling() -> None:
    def mark(fen: str, perspective: chess.Color) -> tuple[bool, str]:
        root = ElementTree.fromstring(board_svg(fen, perspective=perspective))
        rect = next(r for r in root.iter(f"{SVG}rect") if r.get("class") == "side")
        return float(str(rect.get("y"))) > 400, str(rect.get("fill"))

    white, black = "k7/8/8/8/8/8/8/K7 w - - 0 1", "k7/8/8/8/8/8/8/K7 b - - 0 1"
    assert mark(white, chess.WHITE) == (True, PAPER)
    assert mark(black, chess.WHITE) == (False, INK)
    assert mark(black, chess.BLACK) == (True, INK)
    assert mark(white, chess.BLACK) == (False, PAPER)


def test_title_and_reading_are_there_and_safe() -> None:
    svg = board_svg(chess.STARTING_FEN, title='<b>&"\x00\x1b', description="a < b & c\ud800")
    root = ElementTree.fromstring(svg)
    assert root.find(f"{SVG}title").text == '<b>&"'  # type: ignore[union-attr]
    assert root.find(f"{SVG}desc").text == "a < b & c"  # type: ignore[union-attr]
    plain = ElementTree.fromstring(board_svg("6k1/5ppp/8/8/8/8/8/K3R3 b - - 0 1", marks=FULL))
    said = str(plain.find(f"{SVG}desc").text)  # type: ignore[union-attr]
    assert "White: king a1, rook e1." in said
    assert "Black to move." in said
    assert "Blocked by his own man: g8." in said
    assert "Off the board: 5." in said


def test_a_reading_names_every_man() -> None:
    for board in _random_boards(20):
        said = position_in_words(board)
        for square, piece in board.piece_map().items():
            name = f"{chess.piece_name(piece.piece_type)} {chess.square_name(square)}"
            side = said.index("Black: ")
            part = said[:side] if piece.color else said[side:]
            assert name in part


@pytest.mark.parametrize("text", ["", "nonsense", "9/8/8/8/8/8/8/8 w - - 0 1"])
def test_text_that_is_no_position_is_refused(text: str) -> None:
    with pytest.raises(PositionError, match="FEN"):
        board_svg(text)


def test_a_size_of_nothing_is_refused() -> None:
    with pytest.raises(UsageError, match="size"):
        board_svg(chess.STARTING_FEN, size=0)


def _ink(rows: list[list[int]], x: float, y: float, side: float) -> float:
    """Mean share of ink (0 paper to 1 ink) in a square of pixels."""
    cells = [
        rows[j][i]
        for j in range(round(y), round(y + side))
        for i in range(round(x), round(x + side))
    ]
    return 1 - sum(cells) / (255 * len(cells))


@pytest.mark.parametrize("width", [852, 426, 104])
def test_dark_squares_are_hatched_and_light_ones_bare(greys: Greys, width: int) -> None:
    """In the pixels of the typesetter's engine, large and at about 12 pixels a square."""
    empty = chess.Board(None)
    rows = greys(board_svg(empty, coordinates=False, side_mark=False, size=width), width)
    unit = width / 852
    for square in chess.SQUARES:
        x = (26 + 100 * chess.square_file(square)) * unit
        y = (26 + 100 * (7 - chess.square_rank(square))) * unit
        share = _ink(rows, x + 12 * unit, y + 12 * unit, 76 * unit)
        if (chess.square_file(square) + chess.square_rank(square)) % 2:
            assert share < 0.02, chess.square_name(square)
        else:
            assert 0.08 < share < 0.45, chess.square_name(square)


def test_silhouettes_are_told_apart_at_twelve_pixels(greys: Greys) -> None:
    """Common practice, no source: two shapes are told apart if a seventh of the ink differs."""
    drawn = {}
    for kind, colour in itertools.product(chess.PIECE_TYPES, chess.COLORS):
        shape = man(chess.Piece(kind, colour), SMALL)
        svg = (
            '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 100 100" width="12" height="12">'
            f'<rect width="100" height="100" fill="{PAPER}"/>{shape}</svg>'
        )
        drawn[kind, colour] = list(itertools.chain(*greys(svg, 12)))
    for (one, a), (other, b) in itertools.combinations(drawn.items(), 2):
        differ = sum(abs(x - y) for x, y in zip(a, b, strict=True))
        ink = max(sum(255 - x for x in a), sum(255 - y for y in b))
        assert differ / ink > 1 / 7, (one, other)
    for kind in chess.PIECE_TYPES:
        white, black = (sum(255 - x for x in drawn[kind, colour]) for colour in chess.COLORS)
        assert black > 1.4 * white, chess.piece_name(kind)


def test_men_keep_inside_their_square(greys: Greys) -> None:
    for kind, colour, cut in itertools.product(chess.PIECE_TYPES, chess.COLORS, (BOOK, SMALL)):
        shape = man(chess.Piece(kind, colour), cut)
        svg = (
            '<svg xmlns="http://www.w3.org/2000/svg" viewBox="-20 -20 140 140" width="140">'
            f'<rect x="-20" y="-20" width="140" height="140" fill="#fff"/>{shape}</svg>'
        )
        rows = greys(svg, 140)
        outside = [
            rows[y][x]
            for y in range(140)
            for x in range(140)
            if not (20 <= x < 120 and 20 <= y < 120)
        ]
        assert min(outside) > 250, (chess.piece_name(kind), cut.name)


def test_every_mark_differs_from_every_other_without_colour(greys: Greys) -> None:
    """Each role is drawn alone round a knight on d5 (or by him) and compared in grey."""
    knight = chess.Board("8/8/8/3N4/8/8/8/8 w - - 0 1")
    alone = {
        Role.BLOCKED: Marks(blocked=(chess.D5,)),
        Role.GUARDED: Marks(guarded=(chess.D5,)),
        Role.ONE_ONLY: Marks(one_only=(chess.D5,)),
        Role.CHECKS: Marks(king=chess.F6, checks=(chess.D5,)),
        Role.SUPPORTS: Marks(supports=(chess.D5,)),
        Role.NEEDED: Marks(needed=(chess.D5,)),
        Role.NOT_NEEDED: Marks(not_needed=(chess.D5,)),
        Role.HELD_OFF: Marks(held_off=(chess.D5,)),
        Role.CHANGED: Marks(changed=(chess.D5,)),
        Role.DEFENDED: Marks(defended=(chess.E5,)),
        Role.FREE: Marks(free=(chess.E5,)),
        Role.OFF_BOARD: Marks(king=chess.D8, off_board=((0, 1),)),
        Role.GONE: Marks(gone=(Man(chess.E5, chess.Piece.from_symbol("P")),)),
    }
    assert set(alone) == set(Role)
    drawn = [board_svg(knight, marks=m, size=210) for m in (Marks(), *alone.values())]
    pictures = [greys(svg, 210) for svg in drawn]
    for one, other in itertools.combinations(pictures, 2):
        changed = sum(
            abs(a - b) > 60
            for row, line in zip(one, other, strict=True)
            for a, b in zip(row, line, strict=True)
        )
        assert changed >= 10


def test_contrast_figures() -> None:
    """WCAG 2.2: 21 for black on white by the formula; #767676 on white is the known lightest
    grey that passes 4.5 (from memory).  Text needs 4.5 (1.4.3), marks 3 (1.4.11)."""
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert 4.5 < contrast("#767676", "#ffffff") < 4.6 > contrast("#777777", "#ffffff")
    assert contrast(INK, PAPER) == pytest.approx(21)
    assert contrast(ACCENT, PAPER) >= 4.5
    assert contrast(ACCENT, INK) >= 3
    assert contrast(grey(ACCENT), PAPER) >= 4.5
    assert ACCENT in OKABE_ITO.values()


MACHADO = {  # G. M. Machado et al., A Physiologically-based Model for Simulation of Color Vision
    # Deficiency, IEEE TVCG 15 (2009), severity 1.0, for linear RGB (from memory; rows sum to 1)
    "no red cones": (
        (0.152286, 1.052583, -0.204868),
        (0.114503, 0.786281, 0.099216),
        (-0.003882, -0.048116, 1.051998),
    ),
    "no green cones": (
        (0.367322, 0.860646, -0.227968),
        (0.280085, 0.672501, 0.047413),
        (-0.011820, 0.042940, 0.968881),
    ),
    "no blue cones": (
        (1.255528, -0.076749, -0.178779),
        (-0.078411, 0.930809, 0.147602),
        (0.004733, 0.691367, 0.303900),
    ),
}


def _seen(colour: str, matrix: tuple[tuple[float, ...], ...]) -> str:
    """`colour` as an eye of the given kind sees it (sRGB of IEC 61966-2-1)."""
    linear = []
    for at in (1, 3, 5):
        v = int(colour[at : at + 2], 16) / 255
        linear.append(v / 12.92 if v <= 0.04045 else ((v + 0.055) / 1.055) ** 2.4)
    out = "#"
    for row in matrix:
        assert sum(row) == pytest.approx(1, abs=1e-5)
        v = min(max(sum(m * c for m, c in zip(row, linear, strict=True)), 0), 1)
        out += (
            f"{round(255 * (v * 12.92 if v <= 0.0031308 else 1.055 * v ** (1 / 2.4) - 0.055)):02x}"
        )
    return out


@pytest.mark.parametrize("eye", MACHADO)
def test_the_accent_holds_for_every_eye(eye: str) -> None:
    """WCAG 2.2: text 4.5 against paper (1.4.3), marks 3 against what is next to them (1.4.11)."""
    accent = _seen(ACCENT, MACHADO[eye])
    assert contrast(accent, PAPER) >= 4.5
    assert contrast(accent, INK) >= 3


def test_no_colour_but_ink_paper_and_accent() -> None:
    svg = board_svg(chess.STARTING_FEN, marks=FULL)
    used = set(re.findall(r'(?:fill|stroke)="([^"]+)"', svg))
    assert used == {INK, PAPER, ACCENT, "none"}
