"""The casebook's pages: looking through the positions that are kept, and marking them.

A list has an address for each filter and each page of it, so that it can be kept; the casebook
itself is asked for everything.
"""

from __future__ import annotations

import tempfile
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, get_args

import chess
from starlette.background import BackgroundTask
from starlette.concurrency import run_in_threadpool
from starlette.datastructures import UploadFile
from starlette.requests import Request
from starlette.responses import FileResponse, RedirectResponse, Response, StreamingResponse
from starlette.routing import Route

from flightless.casebook import Details, Entry, Filter, NewPosition, Occurrence, Page
from flightless.casebook.codes import NATURES
from flightless.casebook.data import Format, Kind, Phase, Side
from flightless.cases.document import case_document
from flightless.errors import FileError, UsageError
from flightless.patterns.describe import describe
from flightless.patterns.geometry import geometry_key
from flightless.patterns.recognise import catalogue
from flightless.prove import document
from flightless.web.desk import desk_of, link, number_in, sent, whole
from flightless.web.figures import diagram, shared_men
from flightless.web.look import board_of, explained
from flightless.web.weighing import in_class
from flightless.words.english.grammar import number as number_word

__all__ = ["ROUTES", "Card", "cards", "chosen_ids", "number_word", "source_of", "tags_line"]

_ON_A_PAGE = 24
_MOST_CHOSEN = 400
_MOST_KEPT = 60
_KINDS = {
    "given": "mates that were given",
    "missed": "mates that were missed",
    "resigned": "resigned before the mate",
    "mated": "mated positions",
    "kept": "kept by hand",
}
_ORDERS = {
    "added": "as they came in",
    "newest": "the newest first",
    "class": "the best for use in class first",
}


@dataclass(frozen=True, slots=True)
class Card:
    """One position as lists show it."""

    id: int
    drawing: Any
    fen: str
    what: str
    patterns: tuple[str, ...]
    source: str
    tags: tuple[str, ...]
    used: tuple[str, ...]
    why: tuple[str, ...] = ()


def game_line(white: str, black: str, event: str, year: str) -> str:
    """'Morphy – Allies, Paris, 1858'; what PGN writes for something unknown is left out."""
    players = " – ".join(name.partition(",")[0] for name in (white, black) if name.strip("? "))
    return ", ".join(filter(None, (players, event.strip("?"), year if year.isdigit() else "")))


def tags_line(tags: Mapping[str, Any]) -> str:
    """The line for the game with these tags, by their names in small letters."""
    said = {name: str(tags.get(name) or "") for name in ("white", "black", "event", "date")}
    return game_line(said["white"], said["black"], said["event"], said["date"][:4])


def source_of(occurrence: Occurrence | None) -> str:
    """The line for the game that a position comes from."""
    if occurrence is None:
        return ""
    game = occurrence.game
    return game_line(game.white, game.black, game.event, str(game.year or ""))


def what_of(entry: Entry) -> str:
    """'White mates in two' of an entry; a length that nobody has proved says so."""
    side = "White" if entry.side == "white" else "Black"
    if entry.moves == 0:
        return f"{side} has mated"
    if entry.moves is None:
        return "White to move" if entry.board.turn else "Black to move"
    doubt = "" if entry.proved else ", not proved"
    return f"{side} mates in {number_word(abs(entry.moves))}{doubt}"


def cards(
    entries: tuple[Entry, ...], worths: Mapping[int, Mapping[str, Any]] | None = None
) -> list[Card]:
    """Entries with their diagrams, and with `worths` with what they are worth in class."""
    known = worths or {}
    shown = {p.name: p.known_as or p.name for p in catalogue().patterns}
    return [
        Card(
            e.id,
            diagram(e.board, size=230, bare=True, title=f"Position {e.id}: {what_of(e)}"),
            e.fen,
            what_of(e),
            tuple(shown.get(name, name) for name in e.patterns[:2]),
            source_of(e.first),
            e.tags,
            e.used_in,
            in_class(known.get(e.id)),
        )
        for e in entries
    ]


# --- filters in addresses ----------------------------------------------------------------------


def filter_of(query: Mapping[str, str]) -> Filter:
    """The filter that an address asks for.  Raises `UsageError`."""

    def text(name: str) -> str:
        return query.get(name, "").strip()[:200]

    moves = text("moves")
    return Filter(
        patterns=(text("pattern"),) if text("pattern") else (),
        moves=whole(moves, "the length", -60, 60, 0) if moves else None,
        tandem=text("tandem") or None,
        side=_one_of(text("side"), get_args(Side), "the side"),
        phase=_one_of(text("phase"), get_args(Phase), "the phase"),
        nature=_one_of(text("nature"), NATURES, "the kind of key"),
        years=_years(text("from"), text("until")),
        kind=_one_of(text("kind"), get_args(Kind), "the kind"),
        player=text("player") or None,
        tags=(text("tag"),) if text("tag") else (),
        text=text("text") or None,
        unused=text("unused") == "yes",
        lesson=text("lesson") or None,
        geometry_key=text("key") or None,
    )


def _years(first: str, last: str) -> tuple[int | None, int | None] | None:
    if not first and not last:
        return None
    years = [whole(year, "the year", 1, 9999, 0) if year else None for year in (first, last)]
    return years[0], years[1]


def _one_of(text: str, known: tuple[Any, ...], what: str) -> Any:
    if text and text not in known:
        raise UsageError(f"{what} is one of {', '.join(known)}, not {text[:40]!r}")
    return text or None


_NAMES = (
    "pattern", "moves", "tandem", "side", "phase", "kind", "player", "tag", "text", "unused",
    "lesson", "key", "nature", "from", "until",
)  # fmt: skip


def _kept(query: Mapping[str, str]) -> dict[str, str]:
    return {name: query[name] for name in _NAMES if query.get(name)}


async def drawer(request: Request) -> Response:
    """A page of the casebook."""
    desk = desk_of(request)
    query = dict(request.query_params)
    wanted = filter_of(query)
    after = whole(query.get("after", ""), "the place in the list", 0, 1 << 40, 0)
    order = query.get("order", "added")
    if order not in _ORDERS:
        raise UsageError(f"the order is one of {', '.join(_ORDERS)}, not {order[:40]!r}")

    def looked() -> tuple[Page, dict[int, dict[str, Any]], int]:
        best = order == "class"
        page = desk.book.find(
            wanted,
            after=after or None,
            size=_ON_A_PAGE,
            newest_first=order == "newest",
            best_first=best,
        )
        worths = desk.book.worths(e.id for e in page.entries) if best else {}
        return page, worths, desk.weigh() if best else 0

    page, worths, waiting = await run_in_threadpool(looked)
    kept = _kept(query)
    ordered = {"order": "" if order == "added" else order}
    total = page.total
    return desk.page(
        request,
        "casebook.html",
        men=shared_men(),
        cards=cards(page.entries, worths),
        orders=[
            (key, words, link("/casebook", **kept, order="" if key == "added" else key))
            for key, words in _ORDERS.items()
        ],
        order=order,
        waiting=f"{waiting:,}" if waiting else "",
        total=f"{total:,}" if total is not None else "",
        one=total == 1,
        more_than=page.more_than_total,
        query=kept,
        asked=bool(kept) or bool(after),
        next=link("/casebook", **kept, **ordered, after=page.after) if page.after else "",
        first=link("/casebook", **kept, **ordered) if after else "",
        this=link("/casebook", **kept, **ordered, after=after or None),
        patterns=[(p.name, p.known_as or p.name) for p in catalogue().patterns],
        kinds=_KINDS,
        natures=NATURES,
        phases=get_args(Phase),
        exports=[(f, link(f"/casebook/export.{f}", **kept)) for f in get_args(Format)],
    )


def chosen_ids(values: list[str], *, least: int = 1) -> list[int]:
    """Numbers of positions from boxes that were ticked.  Raises `UsageError`."""
    ids = [whole(v, "a position's number", 1, 1 << 40, 0) for v in values if v.strip()]
    ids = list(dict.fromkeys(ids))
    if len(ids) < least:
        raise UsageError("no position was chosen; tick the box under at least one")
    if len(ids) > _MOST_CHOSEN:
        raise UsageError(f"at most {_MOST_CHOSEN} positions can be chosen at once, not {len(ids)}")
    return ids


def back_to(form: Any, default: str) -> str:
    """Where the form came from, if that is a page of this desk."""
    where = str(form.get("back", ""))
    return where if where.startswith(("/casebook", "/harvest", "/sheet")) else default


async def mark(request: Request) -> Response:
    """What was asked of the ticked positions: a tag, a sheet, exercises, or to be taken out."""
    desk = desk_of(request)
    form = await sent(request)
    ids = chosen_ids([str(v) for v in form.getlist("id")])
    act, name = str(form.get("act", "")), str(form.get("name", "")).strip()
    if act == "sheet":
        return RedirectResponse(link("/sheet", ids=",".join(map(str, ids))), 303)
    if act == "exercises":
        return RedirectResponse(link("/exercises", ids=",".join(map(str, ids))), 303)
    if act in ("tag", "untag") and not name:
        raise UsageError("the tag has no name; write one beside the button")
    if act == "tag":
        await run_in_threadpool(desk.book.tag, ids, name)
    elif act == "untag":
        await run_in_threadpool(desk.book.untag, ids, name)
    elif act == "remove":
        if form.get("sure") != "yes":
            raise UsageError("nothing was taken out: tick 'yes, take them out' as well")
        await run_in_threadpool(desk.book.remove, ids)
    else:
        raise UsageError(f"there is nothing like {act[:40]!r} to do with positions")
    return RedirectResponse(back_to(form, "/casebook"), 303)


# --- one position ------------------------------------------------------------------------------


async def entry(request: Request) -> Response:
    """The page of one position."""
    desk = desk_of(request)
    number = number_in(request, "id")

    def looked() -> tuple[Details, dict[str, Any] | None]:
        details = desk.book.get(number)
        desk.weigh()
        return details, desk.book.worths([number]).get(number)

    details, worth = await run_in_threadpool(looked)
    found = details.entry
    return desk.page(
        request,
        "entry.html",
        men=shared_men(),
        card=cards((found,))[0],
        drawing=diagram(found.board),
        entry=found,
        line=" ".join(found.line),
        key=found.geometry_key or "",
        games=[(source_of(o), _KINDS[o.kind], o.ply) for o in details.occurrences[:20]],
        more_games=max(0, len(details.occurrences) - 20),
        has_proof=details.proof is not None,
        worth=in_class(worth),
    )


async def write_entry(request: Request) -> Response:
    """The coach's note and tags on one position."""
    desk = desk_of(request)
    form = await sent(request)
    number = number_in(request, "id")
    tags = [t.strip() for t in str(form.get("tags", "")).split(",") if t.strip()]
    note = str(form.get("note", "")).replace("\r\n", "\n").strip()
    if len(note) > 20_000:
        raise UsageError(f"the note has {len(note)} characters, and 20,000 are the most")

    def write() -> None:
        known = desk.book.get(number).entry.tags
        gone = [tag for tag in known if tag not in tags]
        if gone:
            desk.book.untag(number, *gone)
        if tags:
            desk.book.tag(number, *tags)
        desk.book.note(number, note)

    await run_in_threadpool(write)
    return RedirectResponse(f"/casebook/{number}", 303)


async def keep(request: Request) -> Response:
    """Put positions into the casebook, each with all that is known of it."""
    desk = desk_of(request)
    form = await sent(request)
    boards = [board_of(str(fen)) for fen in form.getlist("fen")[: _MOST_KEPT + 1]]
    if not boards:
        raise UsageError("no position was chosen; tick the box under at least one")
    if len(boards) > _MOST_KEPT:
        raise UsageError(f"at most {_MOST_KEPT} positions can be kept at once")
    added = await run_in_threadpool(lambda: [desk.book.add(_new(board)) for board in boards])
    if len(added) == 1:
        return RedirectResponse(f"/casebook/{added[0].id}", 303)
    return RedirectResponse("/casebook?kind=kept", 303)


def _new(board: chess.Board) -> NewPosition:
    found = explained(board)
    new = NewPosition(board.fen())
    if found.proof is not None and found.proof.verdict in ("mate", "mated"):
        new = replace(new, proof=document(found.proof))
    if found.case is None:
        return new
    return replace(
        new,
        moves=0 if found.proof is None else None,
        patterns=tuple(name.name for name in found.names),
        tandem="".join(chess.piece_symbol(k).upper() for k in describe(found.case).tandem) or None,
        skeleton=found.case.skeleton.fen,
        geometry_key=geometry_key(found.case),
        case=case_document(found.case),
    )


# --- in and out --------------------------------------------------------------------------------


async def export(request: Request) -> Response:
    """All positions that a filter lets through, as one file."""
    desk = desk_of(request)
    kind: Format = request.path_params["format"]
    if kind not in get_args(Format):
        raise UsageError(f"a casebook is written as {', '.join(get_args(Format))}, not {kind!r}")
    wanted = filter_of(dict(request.query_params))

    def pieces() -> Iterator[str]:
        yield from desk.book.export(kind, wanted)

    return StreamingResponse(
        pieces(),
        media_type="text/plain; charset=utf-8",
        headers={"Content-Disposition": f'attachment; filename="casebook.{kind}"'},
    )


async def safety(request: Request) -> Response:
    """The page of backup, restore, and of files put in."""
    desk = desk_of(request)
    count = await run_in_threadpool(desk.book.count)
    aside = request.query_params.get("aside", "")
    return desk.page(
        request,
        "safety.html",
        count=f"{count:,}",
        done=request.query_params.get("done", "")[:200],
        aside=Path(aside).name,
    )


async def backup(request: Request) -> Response:
    """The whole casebook as one file."""
    desk = desk_of(request)
    folder = Path(tempfile.mkdtemp(dir=desk.folder))
    path = folder / "casebook.sqlite"
    await run_in_threadpool(desk.book.backup, path)

    def tidy() -> None:
        path.unlink(missing_ok=True)
        folder.rmdir()

    day = desk.clock().date().isoformat()
    return FileResponse(
        path,
        filename=f"casebook-{day}.sqlite",
        media_type="application/vnd.sqlite3",
        background=BackgroundTask(tidy),
    )


async def restore(request: Request) -> Response:
    """Put a backup in place of the casebook; the old contents are put aside."""
    desk = desk_of(request)
    form = await sent(request)
    upload = form.get("file")
    with tempfile.TemporaryDirectory(dir=desk.folder) as folder:
        path = Path(folder) / "backup.sqlite"
        await save(upload, path)
        try:
            done = await run_in_threadpool(desk.book.restore, path)
        except FileError as error:
            raise FileError(str(error).replace(str(path), "the file that was sent")) from None
    return RedirectResponse(
        link("/casebook/safety", done=f"{done.positions:,}", aside=done.aside or ""), 303
    )


async def take_in(request: Request) -> Response:
    """Add the positions of a PGN, EPD or JSON Lines file."""
    desk = desk_of(request)
    form = await sent(request)
    upload = form.get("file")
    name = plain_name(upload)
    ending = name.rpartition(".")[2].lower()
    if ending not in get_args(Format):
        raise FileError(f"{name}: a file of positions ends in .pgn, .epd or .jsonl")
    with tempfile.TemporaryDirectory(dir=desk.folder) as folder:
        path = Path(folder) / name
        await save(upload, path)
        try:
            counts = await run_in_threadpool(desk.book.import_, path)
        except FileError as error:
            raise FileError(str(error).replace(str(path), name)) from None
    said = f"{counts.positions:,} new positions, {counts.refusals:,} refused"
    return RedirectResponse(link("/casebook/safety", done=said), 303)


def plain_name(upload: Any) -> str:
    """The name of a file that was sent, without folders or anything that is no letter."""
    if not isinstance(upload, UploadFile) or not upload.filename:
        raise FileError("no file was sent; choose one first")
    name = upload.filename.replace("\\", "/").rpartition("/")[2]
    kept = "".join(c if c.isalnum() or c in " ._-" else "-" for c in name).strip(" .")[-80:]
    return kept or "file"


async def save(upload: Any, path: Path) -> None:
    """Write what was sent to a file whose place this desk has chosen."""
    plain_name(upload)
    with path.open("wb") as out:
        while piece := await upload.read(1 << 20):
            out.write(piece)


ROUTES = [
    Route("/casebook", drawer),
    Route("/casebook/mark", mark, methods=["POST"]),
    Route("/casebook/keep", keep, methods=["POST"]),
    Route("/casebook/export.{format:str}", export),
    Route("/casebook/safety", safety),
    Route("/casebook/backup", backup),
    Route("/casebook/restore", restore, methods=["POST"]),
    Route("/casebook/take-in", take_in, methods=["POST"]),
    Route("/casebook/{id:int}", entry),
    Route("/casebook/{id:int}", write_entry, methods=["POST"]),
]
