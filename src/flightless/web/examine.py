"""The pages on one position: set it up, read it, examine it, step through it, ask what if."""

from __future__ import annotations

import io
from typing import Any

import chess
import chess.pgn
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import JSONResponse, RedirectResponse, Response
from starlette.routing import Route

from flightless.cases.problem import problem_of
from flightless.certify import position_key
from flightless.draw.board import board_svg
from flightless.draw.ledger import ledger
from flightless.draw.ledger_svg import ledger_svg
from flightless.draw.legend import legend_svg
from flightless.draw.marks import marks_of
from flightless.errors import PositionError, UsageError
from flightless.explain import Explanation
from flightless.positions import looks_like_fen
from flightless.web.desk import desk_of, link, sent
from flightless.web.figures import diagram, shared_men, table_of_case, table_of_near
from flightless.web.look import board_of, castling_of, change, drawn, explained, loose_board
from flightless.words.notation import ear, eye, steps
from flightless.words.problem import problem_page
from flightless.words.tasks import solution_text, task_text

__all__ = ["ROUTES"]

_LONGEST_LINE = 40
_WITHIN = 5
_NODES = 2_000_000
_PARTS = ("diagram", "end", "ledger", "marks")


def _side(request: Request) -> chess.Color:
    seen = request.query_params.get("seen", "")
    return chess.BLACK if seen == "black" else chess.WHITE


async def position(request: Request) -> Response:
    """The page of a position, or the page on which one is set up."""
    desk = desk_of(request)
    text = request.query_params.get("fen", "")
    if not text:
        return desk.page(request, "setup.html", men=shared_men(), board=_setup_board())
    board = board_of(text)
    explanation = await run_in_threadpool(explained, board)
    seen = _side(request)
    return desk.page(request, "position.html", **_examined(explanation, board, seen))


def _setup_board() -> dict[str, Any]:
    board = chess.Board("4k3/8/8/8/8/8/8/4K3 w - - 0 1")
    return {"svg": diagram(board), "fen": board.fen(), "seen": "white", "use": "setup"}


def _examined(found: Explanation, board: chess.Board, seen: chess.Color) -> dict[str, Any]:
    case = found.case
    first = found.account.section("verdict") or found.account.sentences
    rest = found.account.paragraphs[1:] if found.account.section("verdict") else ()
    end = case.board if case else None
    is_end = end is not None and end.board_fen() == board.board_fen()
    marks = marks_of(case) if case else None
    table = None
    if case is not None:
        table = table_of_case(case)
    elif found.near is not None and found.near.kind != "quiet":
        table = table_of_near(found.near)
    return {
        "men": shared_men(),
        "fen": board.fen(),
        "board": {
            "svg": diagram(board, marks if is_end else None, perspective=seen),
            "fen": board.fen(),
            "seen": "white" if seen else "black",
            "use": "what-if",
        },
        "task": task_text(board, found.proof),
        "line": solution_text(board, found.proof),
        "verdict": first,
        "told": rest,
        "names": [(name.shown[:1].upper() + name.shown[1:], name.name) for name in found.names],
        "end": diagram(end, marks, perspective=seen) if end is not None and not is_end else None,
        "end_fen": end.fen() if end is not None and not is_end else "",
        "table": table,
        "skeletons": [
            (diagram(chess.Board(s.fen), perspective=seen, size=220, bare=True), s.fen)
            for s in (case.skeletons[:3] if case else ())
        ],
        "more_skeletons": max(0, len(case.skeletons) - 3) if case else 0,
        "proved": found.proof is not None and found.proof.verdict in ("mate", "mated"),
        "turned": link("/position", fen=board.fen(), seen="white" if not seen else "black"),
        "mated": case is not None,
    }


async def read(request: Request) -> Response:
    """Text that a coach pasted: FEN, a game, or moves; answered by the position's own page."""
    form = await sent(request)
    board = read_anything(str(form.get("text", "")))
    return RedirectResponse(link("/position", fen=board.fen()), 303)


def read_anything(text: str) -> chess.Board:
    """The position that a pasted text means: a FEN, or the end of a game or of bare moves.

    Raises `PositionError`.
    """
    text = text.strip()
    if len(text) > 200_000:
        raise PositionError("the text is longer than one game; use the page for files of games")
    first = text.splitlines()[0] if text else ""
    if not text or looks_like_fen(first):
        return board_of(first)
    game = chess.pgn.read_game(io.StringIO(text))
    if game is None:
        raise PositionError(f"this is neither a FEN nor moves that can be played: {text[:60]!r}")
    if game.errors:
        raise PositionError(f"the moves cannot be played: {game.errors[0]}")
    board = game.end().board()
    if not board.move_stack and not game.headers.get("FEN"):
        raise PositionError(f"this is neither a FEN nor moves that can be played: {text[:60]!r}")
    return board_of(board.fen())


async def line(request: Request) -> Response:
    """The proof tree, one position a page: what is played here and what may be answered."""
    board = board_of(request.query_params.get("fen", ""))
    words = request.query_params.get("moves", "").split()
    if len(words) > _LONGEST_LINE:
        raise UsageError(
            f"a line has at most {_LONGEST_LINE} moves here, and this one {len(words)}"
        )
    found = await run_in_threadpool(explained, board)
    played: list[chess.Move] = []
    at = board.copy(stack=False)
    for word in words:
        try:
            move = at.parse_uci(word)
            if not move:  # UCI's 0000, a turn that is passed: no move of the Laws
                raise ValueError(word)
        except ValueError:
            raise UsageError(f"the move {word[:10]!r} cannot be played in {at.fen()}") from None
        played.append(move)
        at.push(move)
    return desk_of(request).page(
        request, "line.html", **_stepped(found, board, at, played, _side(request))
    )


def _stepped(
    found: Explanation,
    root: chess.Board,
    at: chess.Board,
    played: list[chess.Move],
    seen: chess.Color,
) -> dict[str, Any]:
    def address(moves: list[chess.Move]) -> str:
        said = " ".join(move.uci() for move in moves)
        return link("/position/line", fen=root.fen(), moves=said, seen="" if seen else "black")

    told = steps(root, played)
    tree = found.proof.tree if found.proof else {}
    key = position_key(at)
    in_tree = key in tree
    choices = (
        tree.get(key, ()) if in_tree else tuple(at.legal_moves) if not at.is_game_over() else ()
    )
    last = played[-1] if played else None
    nexts = [
        (eye(steps(at, [move])[0]), ear(steps(at, [move])[0]), address([*played, move]))
        for move in sorted(choices, key=lambda m: (m not in choices[:1], m.uci()))
    ]
    return {
        "men": shared_men(),
        "board": {
            "svg": diagram(at, perspective=seen),
            "fen": at.fen(),
            "seen": "white" if seen else "black",
            "use": "show",
        },
        "root": link("/position", fen=root.fen()),
        "here_page": link("/position", fen=at.fen()),
        "told": [(eye(step), ear(step), address(played[: i + 1])) for i, step in enumerate(told)],
        "back": address(played[:-1]) if played else "",
        "forced": in_tree,
        "nexts": nexts,
        "mover": "White" if at.turn else "Black",
        "mate": at.is_checkmate(),
        "stalemate": at.is_stalemate(),
        "last": chess.square_name(last.to_square) if last else "",
        "distance": found.proof.distance.get(key) if found.proof else None,
    }


async def problem(request: Request) -> Response:
    """The position as a composed problem: key, threat, variations, set play, tries, duals."""
    board = board_of(request.query_params.get("fen", ""))

    def solved() -> tuple[str, ...]:
        return problem_page(problem_of(board, _WITHIN, budget=_NODES))

    lines = await run_in_threadpool(solved)
    return desk_of(request).page(
        request,
        "problem.html",
        men=shared_men(),
        fen=board.fen(),
        drawing=diagram(board, perspective=_side(request)),
        head=lines[0],
        lines="\n".join(lines[1:]).strip("\n"),
    )


async def what_if(request: Request) -> Response:
    """JSON: the changed position's diagram, verdict, ledger, and what is said anew."""
    query = request.query_params
    before = board_of(query.get("from", ""))
    after, missing = loose_board(query.get("to", ""))
    seen = chess.BLACK if query.get("seen") == "black" else chess.WHITE
    if missing:
        return JSONResponse(
            {
                "svg": diagram(after, perspective=seen),
                "fen": "",
                "verdict": f"This is no position: {'; '.join(missing)}.",
                "sentences": [],
                "ledger": "",
            }
        )
    after.castling_rights = before.castling_rights
    after = board_of(after.fen())
    _, second, new = await run_in_threadpool(change, before, after)
    return JSONResponse(
        {
            "svg": drawn(second, seen),
            "fen": after.fen(),
            "verdict": second.verdict,
            "sentences": list(new[:4]),
            "ledger": desk_of(request).part(
                "ledger.html", table=second.table, caption="The ledger after the change"
            ),
        }
    )


async def setup(request: Request) -> Response:
    """JSON: the men drawn as they stand, and what is still missing for a position."""
    query = request.query_params
    board, missing = loose_board(query.get("to", ""))
    seen = chess.BLACK if query.get("seen") == "black" else chess.WHITE
    castling_of(board, query.get("to", ""))
    verdict = f"Not a position yet: {'; '.join(missing)}." if missing else "This is a position."
    return JSONResponse(
        {
            "svg": diagram(board, perspective=seen),
            "fen": "" if missing else board.fen(),
            "verdict": verdict,
            "sentences": [],
            "ledger": "",
            "castling": board.castling_xfen() if board.castling_rights else "",
        }
    )


async def picture(request: Request) -> Response:
    """A diagram, the diagram of the end with its marks, or the ledger, as an SVG file."""
    board = board_of(request.query_params.get("fen", ""))
    part = request.url.path.removeprefix("/position/").removesuffix(".svg")
    seen = _side(request)
    if part == "diagram":
        drawing = board_svg(board, perspective=seen)
    elif part == "marks":
        drawing = legend_svg()
    else:
        found = await run_in_threadpool(explained, board)
        if found.case is None:
            raise PositionError(f"there is no mate to draw in {board.fen()}")
        if part == "end":
            drawing = board_svg(found.case.board, marks=marks_of(found.case), perspective=seen)
        else:
            drawing = ledger_svg(ledger(found.case))
    return Response(
        drawing,
        media_type="image/svg+xml",
        headers={"Content-Disposition": f'attachment; filename="{part}.svg"'},
    )


async def proof_file(request: Request) -> Response:
    """The proof as the JSON document that other software can replay."""
    from flightless.certify import document_text
    from flightless.prove import document

    board = board_of(request.query_params.get("fen", ""))
    found = await run_in_threadpool(explained, board)
    if found.proof is None:
        raise PositionError(f"the position is over already, so there is no proof: {board.fen()}")
    return Response(
        document_text(document(found.proof)),
        media_type="application/json",
        headers={"Content-Disposition": 'attachment; filename="proof.json"'},
    )


ROUTES = [
    Route("/position", position),
    Route("/position/read", read, methods=["POST"]),
    Route("/position/line", line),
    Route("/position/problem", problem),
    Route("/position/what-if", what_if),
    Route("/position/setup", setup),
    Route("/position/proof.json", proof_file),
    *(Route(f"/position/{part}.svg", picture, name=part) for part in _PARTS),
]
