"""What is said of changes: other men who would do, men who are not needed, and what would
have saved the king.

Reads a `Scene`; keeps what a class can use (natural men on natural squares) and groups it.
The full lists stay in the case.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

import chess

from flightless.cases.case import Man, Saviour
from flightless.words.facts.mate import in_the_way
from flightless.words.facts.scene import Scene
from flightless.words.facts.statements import (
    Idea,
    IdeaKind,
    Instead,
    LuftMissing,
    NoDefender,
    NotNeeded,
    OtherKind,
    Saved,
    Statement,
)
from flightless.words.places import Places, by_name, places

if TYPE_CHECKING:
    from flightless.cases.breaks import Break

__all__ = ["instead_of", "not_needed_of", "saved_of"]

_MOST_SENTENCES = 3
_MOST_PLACES = 4
_LINE_MEN = (chess.ROOK, chess.BISHOP)
_LINE_KINDS = (chess.BISHOP, chess.ROOK, chess.QUEEN)


# --- what else would do --------------------------------------------------------------------


def instead_of(scene: Scene) -> list[Statement]:
    """For each needed mating man what would do in his place: the checkers, then those who
    protect a checker, then guards."""
    case = scene.case
    needed = [s for s in case.needed if not scene.is_own(s)]
    order = sorted(
        needed, key=lambda s: (s not in case.checkers, not _supports(scene, s), *by_name(s))
    )
    told: list[Statement] = []
    for square in order:
        statement = _instead(scene, scene.man(square))
        if statement is not None:
            told.append(statement)
    return told[:_MOST_SENTENCES]


def _supports(scene: Scene, square: chess.Square) -> bool:
    """Whether a man alone protects a checker next to the king."""
    return any(
        case_protectors == (square,) and scene.next_to_king(checker)
        for checker, case_protectors in scene.case.checker_protectors.items()
    )


def _instead(scene: Scene, man: Man) -> Instead | None:
    """Other kinds on his square and his kind elsewhere; for a supporter, whose kind matters
    least, other kinds on other squares too."""
    kind = man.piece.piece_type
    checks = man.square in scene.case.checkers
    by_kind: dict[chess.PieceType, list[chess.Square]] = {}
    for s in scene.case.substitutes:
        if s.instead_of == man.square:
            by_kind.setdefault(s.kind, []).append(s.square)
    if not checks:
        by_kind = {k: _at_a_distance(scene, at, man) for k, at in by_kind.items()}
    others: list[OtherKind] = []
    supports = not checks and _supports(scene, man.square)
    if supports:
        for other in (chess.BISHOP, chess.KNIGHT, chess.ROOK, chess.PAWN):
            at = by_kind.get(other, [])
            found = _named(scene, at, other, None)
            if other != kind and found and at != [man.square]:
                others.append(OtherKind(other, found))
        others = others[:2]
    elsewhere = _named(scene, by_kind.get(kind, []), kind, man.square)
    if elsewhere.size > (2 if others else 3):
        elsewhere = Places((), ())
    told = {kind, *(o.kind for o in others)}
    same = [
        other
        for other in (chess.QUEEN, chess.ROOK, chess.BISHOP, chess.KNIGHT, chess.PAWN)
        if man.square in by_kind.get(other, ())
        and other not in told
        and _is_news(other, kind, checks, supports)
    ]
    if not (same or elsewhere or others):
        return None
    return Instead(man, tuple(same), elsewhere, tuple(others))


def _is_news(other: chess.PieceType, kind: chess.PieceType, checks: bool, supports: bool) -> bool:
    """Whether it is worth saying that another kind would do on the same square: a queen only
    for a rook or bishop who checks, a bishop for a pawn unless he merely guards."""
    if other == chess.QUEEN:
        return checks and kind in _LINE_MEN
    return checks or supports or (other, kind) != (chess.BISHOP, chess.PAWN)


def _at_a_distance(scene: Scene, at: list[chess.Square], man: Man) -> list[chess.Square]:
    """The squares without those next to the king, where a helper is seldom met."""
    return [s for s in at if s == man.square or not scene.next_to_king(s)]


def _named(
    scene: Scene, at: Iterable[chess.Square], kind: chess.PieceType, standing: chess.Square | None
) -> Places:
    """The places if they can be named in a breath; else none."""
    blind = scene.uncounted if standing is not None else scene.uncounted - set(at)
    found = places(at, kind, standing, blind)
    short = found.size <= _MOST_PLACES and len(found.spans) <= 2
    return found if short else Places((), ())


# --- what is not needed --------------------------------------------------------------------


def not_needed_of(scene: Scene) -> list[Statement]:
    """Men near the king that a pupil would think matter, and who take no part."""
    case = scene.case
    groups: dict[tuple[bool, tuple[chess.Square, ...]], list[tuple[Man, set[chess.Square]]]] = {}
    for square in sorted(case.not_needed, key=by_name):
        if case.takes_part[square] == "none":
            seems = _seems_to_hold(scene, square)
            if seems:
                key = (scene.is_own(square), _by_others(scene, square, seems))
                groups.setdefault(key, []).append((scene.man(square), seems))
    told: list[Statement] = []
    for (own, by), entries in groups.items():
        squares = set().union(*(seems for _, seems in entries))
        men = tuple(man for man, _ in entries)
        told.append(NotNeeded(men, own, tuple(sorted(squares, key=by_name)), scene.men(by)))
    return told


def _seems_to_hold(scene: Scene, square: chess.Square) -> set[chess.Square]:
    """The field squares that a man would be thought to answer for: the one he stands on, and
    for a mating man the empty ones he guards and the checker he protects."""
    if scene.is_own(square):
        return {square} if scene.next_to_king(square) else set()
    seems = {
        f.square
        for f in scene.field
        if f.square is not None
        and square in f.by
        and f.state == "guarded"
        and (not scene.board.piece_at(f.square) or f.square in scene.case.checkers)
    }
    return seems | ({square} if scene.next_to_king(square) else set())


def _by_others(
    scene: Scene, square: chess.Square, seems: set[chess.Square]
) -> tuple[chess.Square, ...]:
    """One man who takes part and answers for all of it anyway; nobody if it takes more."""
    for guard in sorted(scene.part, key=lambda g: (g not in scene.case.checkers, *by_name(g))):
        if (
            guard != square
            and all(guard in f.reasons for f in scene.field if f.square in seems)
            and not scene.is_own(guard)
        ):
            return (guard,)
    return ()


# --- what would have saved him -------------------------------------------------------------


def saved_of(scene: Scene, breaks: Sequence[Break] = ()) -> list[Statement]:
    """Luft, a defender, something in between: at most three ideas, natural ones first.

    `breaks` tell of luft where the mating move is not known.
    """
    luft, weak = _luft(scene, breaks), _no_defender(scene)
    told: list[Statement] = [s for s in (weak, luft) if s is not None]
    if weak is not None:
        return told
    ideas = _ideas(scene)
    if ideas:
        told.append(Saved(tuple(ideas[: 2 - (luft is not None)]), luft is not None))
    return told


def _luft(scene: Scene, breaks: Sequence[Break]) -> LuftMissing | None:
    """The most natural pawn move: an unmoved pawn one step ahead, which leaves the king his
    square; the rook's pawn first (common practice, no source), and not into the mating move."""
    case = scene.case
    moves = [(luft.move.from_square, luft.move.to_square, luft.answers) for luft in case.luft]
    if case.last_move is None:
        changes = [(b.change, b.answers) for b in breaks if b.kind == "luft"]
        moves = [(c.square, c.to, answers) for c, answers in changes if c.to is not None]
    found: list[tuple[int, int, LuftMissing]] = []
    for frm, to, answers in moves:
        one_step = chess.square_file(frm) == chess.square_file(to)
        one_step = one_step and chess.square_distance(frm, to) == 1 and _deep(scene, frm) == 1
        in_path = case.last_move is not None and to == case.last_move.to_square
        if not one_step or in_path or chess.Move(case.king, frm) not in answers:
            continue
        file = chess.square_file(frm)
        found.append((min(file, 7 - file), file, _luft_by(scene, frm, to)))
    return min(found, key=lambda f: f[:2])[2] if found else None


def _luft_by(scene: Scene, frm: chess.Square, to: chess.Square) -> LuftMissing:
    told = in_the_way(scene) == [frm]
    return LuftMissing(scene.man(frm), to, frm, _along_edge(scene), told)


def _along_edge(scene: Scene) -> bool:
    """Whether the only check comes from afar along the king's home rank."""
    (checker, *more) = scene.case.checkers
    rank = chess.square_rank(scene.case.king)
    return not more and rank == scene.home_rank == chess.square_rank(checker)


def _no_defender(scene: Scene) -> NoDefender | None:
    """A mating bishop rules squares of his colour round the king, none of which any man of
    the king's but himself covers, and a bishop of that colour could stand on one of them."""
    case = scene.case
    if _deep(scene, case.king) > 1:
        return None
    for dark, shade in ((True, chess.BB_DARK_SQUARES), (False, chess.BB_LIGHT_SQUARES)):
        rulers = [
            s
            for s in scene.part
            if scene.board.piece_type_at(s) == chess.BISHOP
            and not scene.is_own(s)
            and not scene.next_to_king(s)
            and chess.BB_SQUARES[s] & shade
            and sum(s in f.by for f in scene.field if f.state == "guarded") > 1
        ]
        own = chess.popcount(int(scene.board.pieces(chess.BISHOP, case.mated)) & shade)
        spots = [
            f.square
            for f in scene.field
            if f.square is not None and f.state == "guarded" and chess.BB_SQUARES[f.square] & shade
        ]
        covered = any(set(scene.board.attackers(case.mated, s)) - {case.king} for s in spots)
        if not rulers or own or len(spots) < 2 or covered:
            continue
        posts = [s.square for s in case.saviours if s.kind == chess.BISHOP and s.square in spots]
        if posts:
            post = min(posts, key=lambda s: (_deep(scene, s) != 1, s))
            return NoDefender(dark, tuple(spots), post)
    return None


def _ideas(scene: Scene) -> list[Idea]:
    """A man who takes, a man who comes between, a man who shuts a guard's line."""
    case = scene.case
    groups: dict[IdeaKind, list[Saviour]] = {"takes": [], "stands on": [], "shuts": []}
    for saviour in case.saviours:
        kind = _idea_of(scene, saviour)
        if kind is not None:
            groups[kind].append(saviour)
    ideas: list[Idea] = []
    if len(case.checkers) == 1:
        checker = case.checkers[0]
        examples = _examples(scene, groups["takes"])
        if examples:
            kind = "guards" if scene.next_to_king(checker) else "takes"
            ideas.append(Idea(kind, (checker,), scene.man(checker), examples))
        examples = _examples(scene, groups["stands on"])
        if examples:
            ideas.append(Idea("stands on", _reached(groups["stands on"], examples), None, examples))
    if len(ideas) < 2:
        ideas += _shutting(scene, groups["shuts"])
    return ideas


def _idea_of(scene: Scene, saviour: Saviour) -> IdeaKind | None:
    """The idea of an added man: by what he himself can do, else what he does by standing."""
    own = [a for a in saviour.answers if a.from_square == saviour.square]
    if any(a.to_square in scene.case.checkers for a in own):
        return "takes"
    if own:
        return "stands on"
    if saviour.square in scene.case.interposition_squares:
        return None
    if any(a.from_square == scene.case.king for a in saviour.answers):
        return "shuts"
    return None


def _reached(
    saviours: list[Saviour], examples: tuple[tuple[chess.PieceType, chess.Square], ...]
) -> tuple[chess.Square, ...]:
    """Where the examples would go."""
    squares = {
        a.to_square
        for s in saviours
        if (s.kind, s.square) in examples
        for a in s.answers
        if a.from_square == s.square
    }
    return tuple(sorted(squares, key=by_name))


_KINDS_OF_DEFENDER = (chess.KNIGHT, chess.BISHOP, chess.ROOK, chess.PAWN, chess.QUEEN)


def _examples(
    scene: Scene, saviours: list[Saviour]
) -> tuple[tuple[chess.PieceType, chess.Square], ...]:
    """A natural square for each of up to two kinds: minor pieces first; a queen only if
    nothing else would do.  Kinds with no natural square are left out if another has one."""
    best = []
    for kind in _KINDS_OF_DEFENDER:
        found = [s.square for s in saviours if s.kind == kind]
        if found:
            square = min(found, key=lambda s: _oddity(scene, s))
            best.append((_oddity(scene, square)[0], kind, square))
    if not best:
        return ()
    least = min(deep for deep, _, _ in best)
    chosen = [(kind, square) for deep, kind, square in best if deep == least]
    plain = [c for c in chosen if c[0] != chess.QUEEN]
    return tuple((plain or chosen)[:2])


def _oddity(scene: Scene, square: chess.Square) -> tuple[int, ...]:
    """How unnatural a square is for a defender: far from his own side, where he would be
    taken for nothing, far from his king (common practice, no source)."""
    attacked = bool(scene.board.attackers(scene.case.mating, square))
    loose = attacked and not scene.board.attackers(scene.case.mated, square)
    near = chess.square_distance(square, scene.case.king)
    deep = _deep(scene, square)
    corner = bool(chess.BB_SQUARES[square] & chess.BB_CORNERS)
    return (deep > 3, corner, loose, near, deep, abs(2 * chess.square_file(square) - 7), square)


def _deep(scene: Scene, square: chess.Square) -> int:
    rank = chess.square_rank(square)
    return rank if scene.case.mated == chess.WHITE else 7 - rank


def _shutting(scene: Scene, saviours: list[Saviour]) -> list[Idea]:
    """Any man on the line from a needed guard to a field square: the line with most room."""
    lines: dict[chess.Square, set[chess.Square]] = {}
    kinds: dict[chess.Square, set[chess.PieceType]] = {}
    for saviour in saviours:
        kinds.setdefault(saviour.square, set()).add(saviour.kind)
    for saviour in saviours:
        if len(kinds[saviour.square]) < _all_kinds(saviour.square):
            continue
        for guard in scene.case.needed:
            if scene.is_own(guard) or scene.board.piece_type_at(guard) not in _LINE_KINDS:
                continue
            for f in scene.field:
                if f.square is None or guard not in f.reasons:
                    continue
                if chess.BB_SQUARES[saviour.square] & chess.between(guard, f.square):
                    lines.setdefault(guard, set()).add(saviour.square)
    if not lines:
        return []
    guard = max(sorted(lines), key=lambda g: len(lines[g]))
    square = min(lines[guard], key=lambda s: _oddity(scene, s))
    return [Idea("shuts", (square,), scene.man(guard), ())]


def _all_kinds(square: chess.Square) -> int:
    """How many kinds of man can stand on a square: no pawn on the end ranks."""
    return 4 if chess.BB_SQUARES[square] & chess.BB_BACKRANKS else 5
