"""English for the reasons of moves: right, too slow, refuted, impossible."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import chess

from flightless.cases.case import Man
from flightless.exercises import reasons as rs
from flightless.words.english.grammar import (
    COLOUR,
    KIND,
    capital,
    listed,
    number,
    plural,
    pronoun,
    sentence,
    sq,
    sqs,
)
from flightless.words.notation import Step, eye, figure_line, steps

__all__ = ["RULES", "escape_clause", "the", "the_all"]


def the(man: Man) -> str:
    """'the rook on e8'."""
    return f"the {KIND[man.piece.piece_type]} on {sq(man.square)}"


def the_all(men: Sequence[Man]) -> str:
    """Several men, those of a kind together: 'the pawns on f7 and h7 and the rook on e8'."""
    groups: dict[tuple[chess.PieceType, chess.Color], list[Man]] = {}
    for man in men:
        groups.setdefault((man.piece.piece_type, man.piece.color), []).append(man)
    return listed(
        the(group[0])
        if len(group) == 1
        else f"the {plural(kind)} on {sqs(m.square for m in group)}"
        for (kind, _), group in groups.items()
    )


def _steps(fen: str, played: Sequence[chess.Move]) -> tuple[Step, ...]:
    return steps(chess.Board(fen), played)


def _last(fen: str, played: Sequence[chess.Move]) -> Step:
    return _steps(fen, played)[-1]


def _side(step: Step, *, other: bool = False) -> str:
    return COLOUR[step.white != other]


def escape_clause(e: rs.Escape, why: str = ": ") -> str:
    """'the king goes to h7: nothing guards it'.

    `why` stands before the reason: ', for ' where there is a colon already; empty leaves the
    reason out.
    """
    if e.how == "flight" and e.taken is not None:
        her = pronoun(e.taken.piece.piece_type)
        return f"the king takes {the(e.taken)}" + (f"{why}nothing protects {her}" if why else "")
    if e.how == "flight":
        if chess.square_distance(e.man.square, e.move.to_square) > 1:
            return "the king castles"
        return f"the king goes to {sq(e.move.to_square)}" + (f"{why}{_why_free(e)}" if why else "")
    if e.how == "interposition":
        takes = f"takes {the(e.taken)} and " if e.taken is not None else ""
        goes = "" if takes else f"goes to {sq(e.move.to_square)} and "
        return f"{the(e.man)} {takes}{goes}stands between"
    if e.taken is not None:
        return f"{the(e.man)} takes {the(e.taken)}"
    return f"the {KIND[e.man.piece.piece_type]} goes to {sq(e.move.to_square)}"


def _why_free(e: rs.Escape) -> str:
    if not e.shut or e.shut[0].by.piece.piece_type == chess.KING:
        return "nothing guards it"
    shut = e.shut[0]
    its = pronoun(shut.man.piece.piece_type, "own")
    return f"{the(shut.man)} would guard it, but {the(shut.by)} is in {its} way"


# --- answers that cannot be taken ------------------------------------------------------------


def unreadable(r: rs.Unreadable) -> list[str]:
    what = {
        "a move": "a move, like Rf8 or Nxg6,",
        "a line": "a line of moves",
        "mate, check or stalemate": "mate, check or stalemate",
        "a man": "a man, like h7 or the pawn on h7,",
        "a man on a square": "a man on a square, like Bf6,",
        "two men on squares": "two men on squares, like Qg7 Nf5,",
        "a ledger": "a ledger, like f7 = f7; h8 = Qe8, with a row for each square,",
        "a kind of man": "a kind of man, like knight or N,",
        "a name": "a name",
        "A or B": "A or B",
    }[r.expected]
    if not r.text:
        return [f"There is no answer: {what} is asked for."]
    return [f"'{r.text}' cannot be read: {what} is asked for."]


def _men_of(r: rs.CannotMove) -> str:
    """'the rook on e1', 'neither rook', 'no rook'."""
    if len(r.men) == 1:
        return the(r.men[0])
    return f"{'neither' if len(r.men) == 2 else 'no'} {KIND[r.kind]}"


def cannot_move(r: rs.CannotMove) -> list[str]:
    side = COLOUR[chess.Board(r.fen).turn]
    to = sq(r.to) if r.to is not None else ""
    kind = KIND[r.kind]
    by = the_all(r.by)
    can = "cannot" if len(r.men) == 1 else "can"
    told = {
        "no such man": f"{side} has no {kind} that could go to {to}",
        "empty": f"no man stands on {to}",
        "other side": f"it is {side}'s move, and {_men_of(r)} is not {side}'s",
        "cannot reach": f"{_men_of(r)} {can} reach {to}",
        "in the way": f"{_men_of(r)} cannot reach {to}: {by} is in {pronoun(r.kind, 'own')} way",
        "own man": f"{side}'s own {_kind_of(r.by)} stands on {to}",
        "pinned": f"{_men_of(r)} is pinned by {by} and cannot go to {to}",
        "in check": f"{side} is in check from {by}, and {to} does not answer it",
        "into check": f"the king cannot go to {to}: {by} {_guard(r.by)} it",
        "several": f"{the_all(r.men)} can both go to {to}: say which",
        "promotion": f"say what the pawn becomes on {to}, like {to}=Q",
        "castling": f"{side} cannot castle there now",
    }[r.why]
    return [sentence(told)]


def _kind_of(men: Sequence[Man]) -> str:
    return KIND[men[0].piece.piece_type] if men else "man"


def _guard(men: Sequence[Man]) -> str:
    return "guards" if len(men) == 1 else "guard"


def not_pawn(r: rs.NotPawn) -> list[str]:
    return [sentence(f"a pawn move is asked for, and {the(r.man)} is no pawn")]


# --- moves that mate -------------------------------------------------------------------------


def mates(r: rs.Mates) -> list[str]:
    line = _steps(r.fen, (*r.played, *r.rest))
    last = line[len(r.played) - 1]
    if len(r.played) > 1:
        return [f"The line is right: {figure_line(line)}."]
    if last.mate:
        return [_is_mate(last), *_ways(r, last)]
    if r.threat:
        threat = _threatened(r.fen, r.played, r.threat)
        return [f"{eye(last)} threatens {threat}, and there is no defence.", *_ways(r, last)]
    only = r.ways == 1 and not r.another
    what = "is the only first move" if only else f"mates in {number(r.moves)}"
    told = [f"{eye(last)} {what}: {figure_line(line[1:])}."]
    return told if only else [*told, *_ways(r, last)]


def _ways(r: rs.Mates, step: Step) -> list[str]:
    if r.another:
        return [f"{eye(step, mate_word='')} is a second key, as good as the first."]
    if r.ways == 1:
        return ["It is the only first move."] if r.moves > 1 else []
    return [f"{capital(number(r.ways))} first moves do it."]


def _is_mate(step: Step) -> str:
    after = step.after
    checkers = list(chess.scan_forward(after.checkers_mask()))
    king = after.king(after.turn)
    move = eye(step, mate_word="")
    if len(checkers) != 1 or king is None:
        return f"{move} is mate: a double check, and the king has no square."
    kind = after.piece_type_at(checkers[0]) or chess.PAWN
    safe = f"nothing takes the {KIND[kind]}"
    if chess.between(checkers[0], king):
        safe += ", nothing can stand between"
        return f"{move} is mate: {safe}, and the king has no square."
    return f"{move} is mate: {safe}, and the king has no square."


def mates_later(r: rs.MatesLater) -> list[str]:
    last = _last(r.fen, r.played)
    told = (
        f"{eye(last)} mates too, but in {number(r.moves)} moves, and {_asked(r.asked)} asked for."
    )
    if r.reply is None:
        return [told]
    reply = _last(r.fen, (*r.played, r.reply))
    return [told, f"{eye(reply)} holds out longest."]


def _asked(moves: int) -> str:
    return "one was" if moves == 1 else f"{number(moves)} were"


def stalemates(r: rs.Stalemates) -> list[str]:
    last = _last(r.fen, r.played)
    side = _side(last, other=True)
    return [
        f"After {eye(last)} it is stalemate: the king on {sq(r.king)} is not in check, "
        f"and {side} has no legal move."
    ]


# --- moves that do not -----------------------------------------------------------------------


def check_answered(r: rs.CheckAnswered) -> list[str]:
    last = _last(r.fen, r.played)
    told = [sentence(f"after {eye(last)} {escape_clause(r.escape)}")]
    if not r.left:
        return told
    after = (*r.played, r.escape.move)
    if r.nearest is not None and r.met is not None:
        check = _last(r.fen, (*after, r.nearest))
        told.append(f"Then {eye(check)} is no mate: {escape_clause(r.met, '')}.")
    elif r.left == 1:
        told.append(f"Then {_side(last)} has no check.")
    else:
        told.append(f"Then there is no mate in {number(r.left)}.")
    return told


def _threatened(fen: str, played: Sequence[chess.Move], threat: Sequence[chess.Move]) -> str:
    board = chess.Board(fen)
    for move in played:
        board.push(move)
    board.push(chess.Move.null())
    board = board.copy(stack=False)
    line = steps(board, threat)
    if len(line) <= 3:
        return figure_line(line)
    return f"{eye(line[0])} and mate in {number(len(line) // 2 + 1)}"


def quiet_answered(r: rs.QuietAnswered) -> list[str]:
    last = _last(r.fen, r.played)
    threat = _threatened(r.fen, r.played, r.threat)
    return [sentence(f"{eye(last)} threatens {threat}, but {parry_clause(r.parry)}")]


def parry_clause(p: rs.Parry) -> str:
    """'after 1…Rg8 the rook covers g7', 'the knight on d5 takes the bishop: 1…Nxc3'."""
    reply = _last(p.fen, [p.reply])
    move = eye(reply, mate_word="")
    if p.how == "takes him":
        return f"{the(p.man)} takes {_taken(reply)}: {move}"
    if p.how == "check":
        return f"{move} is check, and there is no time for it"
    if p.how == "pinned":
        return f"after {move} the {_threatener(p)} is pinned"
    if p.how == "not possible":
        return f"after {move} it can no longer be played"
    if p.how == "later" or p.answer is None:
        return f"after {move} it comes to nothing in time"
    return f"after {move} {_met(p)}"


def _met(p: rs.Parry) -> str:
    assert p.answer is not None
    to = sq(p.answer.to_square)
    board = chess.Board(p.fen)
    board.push(p.reply)
    kind = board.piece_type_at(p.answer.from_square) or chess.PAWN
    if p.how == "flight":
        taken = board.piece_at(p.answer.to_square) or p.answer.to_square == p.threat.to_square
        return f"the king can take on {to}" if taken else f"the king has {to}"
    who = f"the {KIND[kind]}"
    if not p.same:
        who += f" on {sq(p.answer.from_square)}"
    return f"{who} covers {to}"


def _threatener(p: rs.Parry) -> str:
    kind = chess.Board(p.fen).piece_type_at(p.threat.from_square) or chess.PAWN
    return KIND[kind]


def _taken(step: Step) -> str:
    board = step.board
    at = step.move.to_square
    if board.is_en_passant(step.move):
        return "the pawn in passing"
    return the(Man(at, board.piece_at(at) or chess.Piece(chess.PAWN, not board.turn)))


def no_check(r: rs.NoCheck) -> list[str]:
    last = _last(r.fen, r.played)
    move = eye(last)
    if not r.left:
        return [f"{move} gives no check and threatens no mate."]
    told = f"{move} gives no check and threatens no mate in {number(r.left)}"
    if r.reply is None:
        return [f"{told}."]
    reply = _last(r.fen, (*r.played, r.reply))
    return [f"{told}: {_side(last, other=True)} can play {eye(reply, mate_word='')}, for instance."]


def none_there(r: rs.NoneThere) -> list[str]:
    told = [f"There is no mate in {number(r.asked)}."]
    if r.nearest is not None:
        told += RULES[type(r.nearest)](r.nearest)
    return told


def there_is_one(r: rs.ThereIsOne) -> list[str]:
    return [f"{COLOUR[r.side]} has a mate in {number(r.moves)}."]


def no_mate_found(r: rs.NoMateFound) -> list[str]:
    return [f"{eye(_last(r.fen, r.played))} does not mate in {number(r.asked)}."]


def as_given(r: rs.AsGiven) -> list[str]:
    move = eye(_last(r.fen, [r.move]), mate_word="")
    return [f"{move} is the way that is given; another one is asked for."]


def is_threat(r: rs.IsThreat) -> list[str]:
    quiet = eye(_last(r.fen, [r.quiet]))
    return [f"{quiet} threatens {_threatened(r.fen, [r.quiet], (r.move, *r.rest))}."]


# --- defence ---------------------------------------------------------------------------------


def holds(r: rs.Holds) -> list[str]:
    move = eye(_last(r.fen, [r.move]), mate_word="")
    told = [sentence(f"{move} holds: {_why_holds(r)}")]
    if r.only:
        told.append("No other move does.")
    return told


def _why_holds(r: rs.Holds) -> str:
    p = r.parry
    if p is None or p.how == "later":
        return f"there is no mate in {number(r.moves)} after it"
    if p.how == "takes him":
        return f"it takes the {_threatener(p)} that was to mate"
    if p.how == "check":
        return "it is check"
    threat = eye(_threat_step(p), mate_word="")
    if p.how == "pinned":
        return f"the {_threatener(p)} is pinned, and {threat} cannot be played"
    if p.how == "not possible":
        return f"{threat} can no longer be played"
    return f"after {threat} {_answer(p)}"


def _threat_step(p: rs.Parry) -> Step:
    return _last(p.fen, [p.reply, p.threat])


def _answer(p: rs.Parry) -> str:
    """'the king goes to h7', 'the knight takes', 'the rook stands between on f8'."""
    assert p.answer is not None
    board = _threat_step(p).after
    kind = KIND[board.piece_type_at(p.answer.from_square) or chess.PAWN]
    to = sq(p.answer.to_square)
    if p.how == "takes there":
        return f"the {kind} takes on {to}"
    if p.how == "stands between":
        return f"the {kind} stands between on {to}"
    return f"the king {'takes on' if board.piece_at(p.answer.to_square) else 'goes to'} {to}"


def not_held(r: rs.NotHeld) -> list[str]:
    line = _steps(r.fen, (r.move, *r.line))
    move = eye(line[0], mate_word="")
    mate = figure_line(line[1:])
    if r.threatened:
        return [f"After {move} the threat is carried out: {mate}."]
    return [f"After {move} there is a mate: {mate}."]


# --- two positions ---------------------------------------------------------------------------


def works_in(r: rs.WorksIn) -> list[str]:
    step = _last(r.good, [r.move])
    move = eye(step, mate_word="")
    mate = f"{move} is mate" if r.moves == 1 else f"{move} mates in {number(r.moves)}"
    why = RULES[type(r.why)](r.why)
    told = [f"In {r.works} {mate}."]
    if r.said != r.works:
        told = [f"{capital(mate)} in {r.works}, not in {r.fails}."]
    if r.reply is not None and r.reply_holds is False:
        bad = _bad_reply(r)
        told.append(f"In {r.fails} {bad} is not the defence.")
    first, *more = why
    told.append(f"In {r.fails} {_lower(first)}")
    return [*told, *more][:3]


def _bad_reply(r: rs.WorksIn) -> str:
    played = getattr(r.why, "played", ())
    fen = getattr(r.why, "fen", r.good)
    assert r.reply is not None
    return eye(_last(fen, (*played, r.reply)), mate_word="")


def _lower(text: str) -> str:
    """A sentence to go on with: its first word without its capital, unless it is a move."""
    return text[:1].lower() + text[1:] if text.startswith(("After ", "There ", "It ")) else text


RULES: dict[type[rs.Reason], Callable[[Any], list[str]]] = {
    rs.Unreadable: unreadable,
    rs.CannotMove: cannot_move,
    rs.NotPawn: not_pawn,
    rs.Mates: mates,
    rs.MatesLater: mates_later,
    rs.Stalemates: stalemates,
    rs.CheckAnswered: check_answered,
    rs.QuietAnswered: quiet_answered,
    rs.NoCheck: no_check,
    rs.NoneThere: none_there,
    rs.ThereIsOne: there_is_one,
    rs.NoMateFound: no_mate_found,
    rs.AsGiven: as_given,
    rs.IsThreat: is_threat,
    rs.Holds: holds,
    rs.NotHeld: not_held,
    rs.WorksIn: works_in,
}
