"""German for the reasons of moves: right, too slow, refuted, impossible."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import chess

from flightless.cases.case import Man
from flightless.exercises import reasons as rs
from flightless.words.german import grammar as g
from flightless.words.german.grammar import SIDE, Case, eye, figure_line, sentence, sq, sqs
from flightless.words.notation import Step, steps

__all__ = ["RULES", "capital", "clauses", "escape_clause", "in_moves", "the", "the_all"]


def the(man: Man, case: Case = "nom") -> str:
    """'den Turm auf e8'."""
    return f"{g.the(man.piece.piece_type, case)} auf {sq(man.square)}"


def the_all(men: Sequence[Man], case: Case = "nom") -> str:
    """Several men, those of a kind together: 'die Bauern auf f7 und h7 und der Turm auf e8'."""
    groups: dict[tuple[chess.PieceType, chess.Color], list[Man]] = {}
    for man in men:
        groups.setdefault((man.piece.piece_type, man.piece.color), []).append(man)
    return g.listed(
        the(group[0], case)
        if len(group) == 1
        else f"{g.the_several(kind, case)} auf {sqs(m.square for m in group)}"
        for (kind, _), group in groups.items()
    )


def capital(text: str) -> str:
    """As the first word after a colon."""
    return text[:1].upper() + text[1:]


def clauses(told: Sequence[str]) -> str:
    """Main clauses in one sentence: with a comma before the last 'und'."""
    first = ", ".join(told[:-1])
    return f"{first}, und {told[-1]}" if first else told[-1]


def in_moves(n: int) -> str:
    """'in einem Zug', 'in zwei Zügen'."""
    return f"in {g.times(n, 'einem Zug', 'Zügen')}"


def _steps(fen: str, played: Sequence[chess.Move]) -> tuple[Step, ...]:
    return steps(chess.Board(fen), played)


def _last(fen: str, played: Sequence[chess.Move]) -> Step:
    return _steps(fen, played)[-1]


def _side(step: Step, *, other: bool = False) -> str:
    return SIDE[step.white != other]


def _clause(who: str, verb: str, rest: str, *, turned: bool) -> str:
    """'der König geht nach h7'; turned, after 'nach 1.Te8+': 'geht der König nach h7'."""
    start = f"{verb} {who}" if turned else f"{who} {verb}"
    return f"{start} {rest}".rstrip()


def escape_clause(e: rs.Escape, why: str = ": ", *, turned: bool = False) -> str:
    """'der König geht nach h7: Nichts beherrscht das Feld'.

    `why` stands before the reason: ', denn ' where there is a colon already; empty leaves the
    reason out.  `turned`: the verb comes first.
    """
    king = "der König"
    if e.how == "flight" and e.taken is not None:
        told = _clause(king, "schlägt", the(e.taken, "acc"), turned=turned)
        return told + _because(f"niemand deckt {g.pronoun(e.taken.piece.piece_type)}", why)
    if e.how == "flight":
        if chess.square_distance(e.man.square, e.move.to_square) > 1:
            return _clause(king, "rochiert", "", turned=turned)
        told = _clause(king, "geht", f"nach {sq(e.move.to_square)}", turned=turned)
        return told + _because(_why_free(e), why)
    if e.how == "interposition":
        if e.taken is not None:
            rest = f"{the(e.taken, 'acc')} und steht dazwischen"
            return _clause(the(e.man), "schlägt", rest, turned=turned)
        way = f"von {sq(e.move.from_square)} nach {sq(e.move.to_square)} und steht dazwischen"
        return _clause(g.the(e.man.piece.piece_type), "zieht", way, turned=turned)
    if e.taken is not None:
        return _clause(the(e.man), "schlägt", the(e.taken, "acc"), turned=turned)
    kind = g.the(e.man.piece.piece_type)
    return _clause(kind, "zieht", f"nach {sq(e.move.to_square)}", turned=turned)


def _because(reason: str, why: str) -> str:
    if not why:
        return ""
    return why + (capital(reason) if why.startswith(":") else reason)


def _why_free(e: rs.Escape) -> str:
    if not e.shut or e.shut[0].by.piece.piece_type == chess.KING:
        return "nichts beherrscht das Feld"
    shut = e.shut[0]
    him = g.pronoun(shut.man.piece.piece_type, "dat")
    return f"{the(shut.man)} würde es beherrschen, doch {the(shut.by)} steht {him} im Weg"


# --- answers that cannot be taken ------------------------------------------------------------


def unreadable(r: rs.Unreadable) -> list[str]:
    what = {
        "a move": "ist ein Zug wie Tf8 oder Sxg6",
        "a line": "ist eine Zugfolge",
        "mate, check or stalemate": "ist Matt, Schach oder Patt",
        "a man": "ist ein Stein, etwa h7 oder Bauer h7",
        "a man on a square": "ist ein Stein auf einem Feld wie Lf6",
        "two men on squares": "sind zwei Steine auf Feldern wie Dg7 Sf5",
        "a ledger": "ist eine Tabelle wie f7 = f7; h8 = De8 mit einer Zeile für jedes Feld",
        "a kind of man": "ist eine Art von Stein, etwa Springer oder S",
        "a name": "ist ein Name",
        "A or B": "ist A oder B",
    }[r.expected]
    if not r.text:
        return [f"Es gibt keine Antwort: Gefragt {what}."]
    return [f"„{r.text}“ ist nicht lesbar: Gefragt {what}."]


def _none_of(r: rs.CannotMove) -> str:
    """'keiner der Türme', 'kein Turm', for what cannot be done by any of them."""
    none = "keine" if g.gender(r.kind) == "f" else "keiner"
    if len(r.men) > 1:
        return f"{none} {g.the_several(r.kind, 'gen')}"
    return f"k{g.a(r.kind)}"


def cannot_move(r: rs.CannotMove) -> list[str]:
    side = SIDE[chess.Board(r.fen).turn]
    to = sq(r.to) if r.to is not None else ""
    one = len(r.men) == 1
    who = the(r.men[0]) if one else _none_of(r)
    many = len(r.by) > 1
    relative = "die" if g.gender(r.kind) == "f" else "der"
    match r.why:
        case "no such man":
            told = f"{side} hat k{g.a(r.kind, 'acc')}, {relative} nach {to} ziehen könnte"
        case "empty":
            told = f"auf {to} steht kein Stein"
        case "other side":
            told = f"{side} ist am Zug, und {who} gehört {'nicht ' if one else ''}{side}"
        case "cannot reach":
            told = f"{who} kann {'nicht ' if one else ''}nach {to} ziehen"
        case "in the way":
            stand = "stehen" if many else "steht"
            reach = "kommt nicht" if one else "kommt"
            told = f"{who} {reach} nach {to}: {capital(the_all(r.by))} {stand} im Weg"
        case "own man":
            kind = r.by[0].piece.piece_type if r.by else chess.PAWN
            own = f"{g.the(kind).split()[0]} eigene {g.name(kind)}"
            told = f"auf {to} steht {own}"
        case "pinned":
            told = f"{the_all(r.men)} {'ist' if one else 'sind'} durch {the_all(r.by, 'acc')} "
            told += f"gefesselt und {'kann' if one else 'können'} nicht nach {to}"
        case "in check":
            told = f"{side} steht im Schach durch {the_all(r.by, 'acc')}, und ein Zug nach {to} "
            told += "wehrt es nicht ab"
        case "into check":
            guard = "beherrschen" if many else "beherrscht"
            told = f"der König kann nicht nach {to}: {capital(the_all(r.by))} {guard} das Feld"
        case "several":
            return [f"{capital(the_all(r.men))} können nach {to}: Welcher Stein ist gemeint?"]
        case "promotion":
            told = f"es fehlt, was der Bauer auf {to} wird, etwa {to}=D"
        case "castling":
            told = f"{side} kann jetzt dort nicht rochieren"
    return [sentence(told)]


def not_pawn(r: rs.NotPawn) -> list[str]:
    return [sentence(f"gefragt ist ein Bauernzug, und {the(r.man)} ist kein Bauer")]


# --- moves that mate -------------------------------------------------------------------------


def mates(r: rs.Mates) -> list[str]:
    line = _steps(r.fen, (*r.played, *r.rest))
    last = line[len(r.played) - 1]
    if len(r.played) > 1:
        return [f"Die Zugfolge ist richtig: {figure_line(line)}."]
    if last.mate:
        return [_is_mate(last), *_ways(r, last)]
    if r.threat:
        threat = _threatened(r.fen, r.played, r.threat)
        told = f"{eye(last)} droht {threat}, und es gibt keine Verteidigung."
        return [told, *_ways(r, last)]
    only = r.ways == 1 and not r.another
    what = "ist der einzige erste Zug" if only else f"setzt {in_moves(r.moves)} matt"
    told = f"{eye(last)} {what}: {figure_line(line[1:])}."
    return [told] if only else [told, *_ways(r, last)]


def _ways(r: rs.Mates, step: Step) -> list[str]:
    if r.another:
        return [f"{eye(step, mate_word='')} ist ein zweiter Schlüsselzug, so gut wie der erste."]
    if r.ways == 1:
        return ["Es ist der einzige erste Zug."] if r.moves > 1 else []
    return [f"{capital(g.number(r.ways))} erste Züge setzen matt."]


def _is_mate(step: Step) -> str:
    after = step.after
    checkers = list(chess.scan_forward(after.checkers_mask()))
    king = after.king(after.turn)
    move = eye(step, mate_word="")
    if len(checkers) != 1 or king is None:
        return f"{move} ist matt: Es ist ein Doppelschach, und der König hat kein Feld."
    kind = after.piece_type_at(checkers[0]) or chess.PAWN
    safe = f"Niemand schlägt {g.the(kind, 'acc')}"
    if chess.between(checkers[0], king):
        safe += ", nichts kann dazwischentreten"
    return f"{move} ist matt: {safe}, und der König hat kein Feld."


def mates_later(r: rs.MatesLater) -> list[str]:
    last = _last(r.fen, r.played)
    asked = f"gefragt war Matt {in_moves(r.asked)}"
    told = f"{eye(last)} setzt auch matt, aber erst {in_moves(r.moves)}; {asked}."
    if r.reply is None:
        return [told]
    reply = _last(r.fen, (*r.played, r.reply))
    return [told, f"{eye(reply)} hält am längsten stand."]


def stalemates(r: rs.Stalemates) -> list[str]:
    last = _last(r.fen, r.played)
    side = _side(last, other=True)
    return [
        f"Nach {eye(last)} ist es patt: Der König auf {sq(r.king)} steht nicht im Schach, und "
        f"{side} hat keinen erlaubten Zug."
    ]


# --- moves that do not -----------------------------------------------------------------------


def check_answered(r: rs.CheckAnswered) -> list[str]:
    last = _last(r.fen, r.played)
    told = [sentence(f"nach {eye(last)} {escape_clause(r.escape, turned=True)}")]
    if not r.left:
        return told
    after = (*r.played, r.escape.move)
    if r.nearest is not None and r.met is not None:
        check = _last(r.fen, (*after, r.nearest))
        told.append(f"Dann ist {eye(check)} kein Matt: {capital(escape_clause(r.met, ''))}.")
    elif r.left == 1:
        told.append(f"Dann hat {_side(last)} kein Schach.")
    else:
        told.append(f"Dann gibt es kein Matt {in_moves(r.left)}.")
    return told


def _threatened(fen: str, played: Sequence[chess.Move], threat: Sequence[chess.Move]) -> str:
    board = chess.Board(fen)
    for move in played:
        board.push(move)
    board.push(chess.Move.null())
    line = steps(board.copy(stack=False), threat)
    if len(line) <= 3:
        return figure_line(line)
    return f"{eye(line[0])} und Matt {in_moves(len(line) // 2 + 1)}"


def quiet_answered(r: rs.QuietAnswered) -> list[str]:
    last = _last(r.fen, r.played)
    threat = _threatened(r.fen, r.played, r.threat)
    return [sentence(f"{eye(last)} droht {threat}, aber {parry_clause(r.parry)}")]


def parry_clause(p: rs.Parry) -> str:
    """'nach 1…Tg8 deckt der Turm g7', 'der Springer auf d5 schlägt den Läufer: 1…Sxc3'."""
    reply = _last(p.fen, [p.reply])
    move = eye(reply, mate_word="")
    if p.how == "takes him":
        return f"{the(p.man)} schlägt {_taken(reply)}: {move}"
    if p.how == "check":
        return f"{move} ist Schach, und dafür bleibt keine Zeit"
    if p.how == "pinned":
        return f"nach {move} ist {g.the(_threatener(p))} gefesselt"
    if p.how == "not possible":
        return f"nach {move} geht das nicht mehr"
    if p.how == "later" or p.answer is None:
        return f"nach {move} kommt es nicht rechtzeitig dazu"
    return f"nach {move} {_met(p)}"


def _met(p: rs.Parry) -> str:
    assert p.answer is not None
    to = sq(p.answer.to_square)
    board = chess.Board(p.fen)
    board.push(p.reply)
    kind = board.piece_type_at(p.answer.from_square) or chess.PAWN
    if p.how == "flight":
        taken = board.piece_at(p.answer.to_square) or p.answer.to_square == p.threat.to_square
        return f"kann der König auf {to} schlagen" if taken else f"hat der König das Feld {to}"
    where = "" if p.same else f" auf {sq(p.answer.from_square)}"
    return f"deckt {g.the(kind)}{where} das Feld {to}"


def _threatener(p: rs.Parry) -> chess.PieceType:
    return chess.Board(p.fen).piece_type_at(p.threat.from_square) or chess.PAWN


def _taken(step: Step) -> str:
    board = step.board
    at = step.move.to_square
    if board.is_en_passant(step.move):
        return "den Bauern im Vorübergehen"
    return the(Man(at, board.piece_at(at) or chess.Piece(chess.PAWN, not board.turn)), "acc")


def no_check(r: rs.NoCheck) -> list[str]:
    last = _last(r.fen, r.played)
    told = f"{eye(last)} gibt kein Schach und droht kein Matt"
    if not r.left:
        return [f"{told}."]
    told += f" {in_moves(r.left)}"
    if r.reply is None:
        return [f"{told}."]
    reply = eye(_last(r.fen, (*r.played, r.reply)), mate_word="")
    return [f"{told}: {_side(last, other=True)} kann zum Beispiel {reply} spielen."]


def none_there(r: rs.NoneThere) -> list[str]:
    told = [f"Es gibt kein Matt {in_moves(r.asked)}."]
    if r.nearest is not None:
        told += RULES[type(r.nearest)](r.nearest)
    return told


def there_is_one(r: rs.ThereIsOne) -> list[str]:
    return [f"{SIDE[r.side]} hat ein Matt {in_moves(r.moves)}."]


def no_mate_found(r: rs.NoMateFound) -> list[str]:
    return [f"{eye(_last(r.fen, r.played))} setzt nicht {in_moves(r.asked)} matt."]


def as_given(r: rs.AsGiven) -> list[str]:
    move = eye(_last(r.fen, [r.move]), mate_word="")
    return [f"{move} ist der gegebene Weg; gefragt ist ein anderer."]


def is_threat(r: rs.IsThreat) -> list[str]:
    quiet = eye(_last(r.fen, [r.quiet]))
    return [f"{quiet} droht {_threatened(r.fen, [r.quiet], (r.move, *r.rest))}."]


# --- defence ---------------------------------------------------------------------------------


def holds(r: rs.Holds) -> list[str]:
    move = eye(_last(r.fen, [r.move]), mate_word="")
    told = [sentence(f"{move} hält: {capital(_why_holds(r))}")]
    if r.only:
        told.append("Kein anderer Zug hält.")
    return told


def _why_holds(r: rs.Holds) -> str:
    p = r.parry
    if p is None or p.how == "later":
        return f"danach gibt es kein Matt {in_moves(r.moves)}"
    kind = _threatener(p)
    if p.how == "takes him":
        who = "die" if g.gender(kind) == "f" else "der"
        return f"er schlägt {g.the(kind, 'acc')}, {who} mattsetzen sollte"
    if p.how == "check":
        return "es ist Schach"
    threat = eye(_threat_step(p), mate_word="")
    if p.how == "pinned":
        return f"{g.the(kind)} ist gefesselt, und {threat} geht nicht"
    if p.how == "not possible":
        return f"{threat} geht nicht mehr"
    return f"nach {threat} {_answer(p)}"


def _threat_step(p: rs.Parry) -> Step:
    return _last(p.fen, [p.reply, p.threat])


def _answer(p: rs.Parry) -> str:
    """'geht der König nach h7', 'schlägt der Springer auf g7'."""
    assert p.answer is not None
    board = _threat_step(p).after
    kind = g.the(board.piece_type_at(p.answer.from_square) or chess.PAWN)
    to = sq(p.answer.to_square)
    if p.how == "takes there":
        return f"schlägt {kind} auf {to}"
    if p.how == "stands between":
        return f"stellt sich {kind} auf {to} dazwischen"
    if board.piece_at(p.answer.to_square):
        return f"schlägt der König auf {to}"
    return f"geht der König nach {to}"


def not_held(r: rs.NotHeld) -> list[str]:
    line = _steps(r.fen, (r.move, *r.line))
    move = eye(line[0], mate_word="")
    mate = figure_line(line[1:])
    if r.threatened:
        return [f"Nach {move} wird die Drohung wahr: {mate}."]
    return [f"Nach {move} gibt es ein Matt: {mate}."]


# --- two positions ---------------------------------------------------------------------------


def works_in(r: rs.WorksIn) -> list[str]:
    move = eye(_last(r.good, [r.move]), mate_word="")
    if r.moves == 1:
        verb, rest = "ist", "matt"
    else:
        verb, rest = "setzt", f"{in_moves(r.moves)} matt"
    told = [f"In {r.works} {verb} {move} {rest}."]
    if r.said != r.works:
        told = [f"{move} {verb} in {r.works} {rest}, nicht in {r.fails}."]
    if r.reply is not None and r.reply_holds is False:
        told.append(f"In {r.fails} ist {_bad_reply(r)} nicht die Verteidigung.")
    first, *more = RULES[type(r.why)](r.why)
    told.append(f"In {r.fails}: {first}")
    return [*told, *more][:3]


def _bad_reply(r: rs.WorksIn) -> str:
    played = getattr(r.why, "played", ())
    fen = getattr(r.why, "fen", r.good)
    assert r.reply is not None
    return eye(_last(fen, (*played, r.reply)), mate_word="")


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
