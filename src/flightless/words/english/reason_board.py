"""English for the reasons of a mated position: men put on and taken off, ledgers, names."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import chess

from flightless.cases.case import Man
from flightless.exercises import reasons as rs
from flightless.words.english.grammar import (
    COLOUR,
    KIND,
    article,
    capital,
    listed,
    number,
    pronoun,
    sentence,
    sq,
    sqs,
)
from flightless.words.english.reason_moves import escape_clause, the, the_all

__all__ = ["RULES", "pattern_phrase"]


def wrong_choice(r: rs.WrongChoice) -> list[str]:
    if not r.text:
        return [f"There is no answer: choose one of {', '.join(r.choices)}."]
    return [f"'{r.text}' is not one of the choices: {', '.join(r.choices)}."]


def cannot_place(r: rs.CannotPlace) -> list[str]:
    kind = KIND[r.man.piece.piece_type]
    if r.why == "taken":
        there = KIND[r.by.piece.piece_type] if r.by is not None else "man"
        return [sentence(f"{sq(r.man.square)} is taken: a {there} stands there")]
    if r.why == "end rank":
        return ["A pawn cannot stand on the first or the last rank."]
    return [f"There is no {kind} to place."]


def standing(r: rs.Standing) -> list[str]:
    side = COLOUR[r.side]
    is_not = "" if r.said == r.standing else f", not {r.said}"
    if r.standing == "stalemate":
        return [
            f"It is stalemate{is_not}: the king on {sq(r.king)} is not in check, and {side} has "
            f"no legal move."
        ]
    check = f"{the_all(r.checkers)} {'check' if len(r.checkers) > 1 else 'checks'}"
    if r.standing == "mate":
        return [sentence(f"it is mate{is_not}: {check}, and {side} has no answer")]
    assert r.escape is not None
    if r.said == "mate":
        return [sentence(f"it is check and no mate: {escape_clause(r.escape, ', for ')}")]
    return [sentence(f"it is check{is_not}: {check}"), sentence(escape_clause(r.escape))]


def removal(r: rs.Removal) -> list[str]:
    without = f"without {the(r.man)}"
    if r.check_gone:
        return [sentence(f"{without} there is no check")]
    if r.escape is not None:
        return [sentence(f"{without} {escape_clause(r.escape, '' if r.own_square else ': ')}")]
    if not r.held:
        return [sentence(f"{without} it is still mate")]
    by: dict[Man, list[chess.Square]] = {}
    for square, man in r.held:
        by.setdefault(man, []).append(square)
    deeds = listed(_holds(man, squares) for man, squares in by.items())
    return [sentence(f"{without} it is still mate: {deeds} all the same")]


def _holds(man: Man, squares: Sequence[chess.Square]) -> str:
    if list(squares) == [man.square]:
        return f"his own {KIND[man.piece.piece_type]} on {sq(man.square)} is in his way"
    return f"{the(man)} guards {sqs(squares)}"


def trial(r: rs.Trial) -> list[str]:
    there = f"with {the_all(r.men)}"
    if r.trouble == "no check":
        return [sentence(f"{there} there is no check")]
    if r.trouble == "stalemate":
        return [sentence(f"{there} it is stalemate: there is no check")]
    if r.trouble == "own king":
        side = COLOUR[r.men[0].piece.color]
        return [sentence(f"{there} {side}'s own king is in check")]
    assert r.escape is not None
    man = r.men[0]
    if r.target is not None and r.target != man:
        told = f"{the(man)} does not protect {the(r.target)}"
        if r.escape.taken == r.target and not r.reaches:
            if r.shut_by is not None:
                told += f": {the(r.shut_by)} is in {pronoun(man.piece.piece_type, 'own')} way"
            return [sentence(told), sentence(escape_clause(r.escape, ""))]
        if r.reaches and r.escape.taken != r.target:
            protects = f"{the(man)} protects {the(r.target)}"
            return [sentence(f"{protects}, but {escape_clause(r.escape)}")]
    return [sentence(f"{there} it is no mate: {escape_clause(r.escape, ', for ')}")]


def gives_mate(r: rs.GivesMate) -> list[str]:
    deeds: dict[Man, list[str]] = {man: [] for man in r.men}
    for man in r.checks:
        deeds[man].append("checks")
    for man, protected in r.protects:
        deeds[man].append(f"protects {the(protected)}")
    for man, squares in r.guards:
        deeds[man].append(f"guards {sqs(squares)}")
    said = [f"{_it(r, man)} {listed(what)}" for man, what in deeds.items() if what]
    told = f"with {the_all(r.men)} it is mate"
    told += f": {'; '.join(said)}" if said else ""
    more = []
    if r.others:
        are = "is" if r.others == 1 else "are"
        answers = "answer" if r.others == 1 else "answers"
        more.append(f"{capital(number(r.others))} more {answers} {are} right.")
    return [sentence(told), *more]


def _it(r: rs.GivesMate, man: Man) -> str:
    if len(r.men) == 1:
        return pronoun(man.piece.piece_type, "subject")
    return f"the {KIND[man.piece.piece_type]}" if _kinds_differ(r) else the(man)


def _kinds_differ(r: rs.GivesMate) -> bool:
    return len({man.piece.piece_type for man in r.men}) == len(r.men)


# --- the ledger ------------------------------------------------------------------------------


def ledger_done(r: rs.LedgerDone) -> list[str]:
    told = [f"All {number(r.squares)} squares are right."]
    if r.squares == 1:
        told = ["The one square is right."]
    if r.lone:
        square, man = r.lone[0]
        if man.square == square:
            told.append(sentence(f"{sq(square)} is shut by {the(man)} alone"))
        else:
            told.append(sentence(f"{sq(square)} hangs on one guard only, {the(man)}"))
    return told


def ledger_fault(r: rs.LedgerFault) -> list[str]:
    square = sq(r.square)
    true = _true_men(r)
    if r.problem == "missing":
        told = f"{square} is missing: {true}"
    elif r.said is not None and r.said.square == r.square:
        told = f"{square} is not blocked by his own man: {true}"
    else:
        who = the(r.said) if r.said is not None else "that man"
        told = f"{who} does not answer for {square}: {true}"
    count = f"{capital(number(r.right))} of {number(r.all)} squares are right."
    if r.right == 1:
        count = f"One of {number(r.all)} squares is right."
    return [sentence(told), count] if r.right else [sentence(told)]


def _true_men(r: rs.LedgerFault) -> str:
    first, *more = r.by
    guards = r.by
    told = []
    if r.blocked:
        told.append(f"his own {KIND[first.piece.piece_type]} stands on it")
        guards = tuple(more)
    if guards:
        verb = "guards" if len(guards) == 1 else "guard"
        told.append(f"{the_all(guards)} {verb} it{' as well' if r.blocked else ''}")
    return listed(told)


def bad_square(r: rs.BadSquare) -> list[str]:
    if r.empty:
        return [sentence(f"there is no such man on {sq(r.square)}")]
    return [sentence(f"{sq(r.square)} is not a square next to the king on {sq(r.king)}")]


# --- names -----------------------------------------------------------------------------------


def pattern_phrase(description: str, known_as: str | None) -> str:
    """'rook held by a distant bishop, known as Mayet's mate'."""
    return f"{description}, known as {known_as}" if known_as else description


def _named(description: str, known_as: str | None) -> str:
    return known_as or f"the pattern '{description}'"


def name_fits(r: rs.NameFits) -> list[str]:
    told = [sentence(f"it is that pattern: {pattern_phrase(r.description, r.known_as)}")]
    cast = [f"{the_all(men)} {_plays(role, len(men))}" for role, men in r.men if role in _PLAYS]
    if cast:
        told.append(sentence(listed(cast)))
    return told


_PLAYS = {
    "checker": ("checks", "check"),
    "supporter": ("supports", "support"),
    "guard": ("guards", "guard"),
    "blockers": ("is in the king's way", "are in the king's way"),
    "shoulders": ("is at the king's shoulder", "are at the king's shoulders"),
}


def _plays(role: str, men: int) -> str:
    return _PLAYS[role][men > 1]


def name_missing(r: rs.NameMissing) -> list[str]:
    name = _named(r.description, r.known_as)
    told = [sentence(_lack(r, name))]
    if r.fits is not None:
        told.append(sentence(f"the pattern here: {pattern_phrase(*r.fits)}"))
    return told


def _lack(r: rs.NameMissing, name: str) -> str:
    head = f"{name} does not fit"
    kinds = listed((KIND[k] for k in r.kinds), "or") if r.kinds else "man"
    must = {
        "checks": "have to check",
        "protects": "have to protect the checker",
        "guards": "have to guard the king's squares",
        "stands": "have to take part",
    }[r.does]
    if r.missing == "kind" and r.found is not None:
        return f"{head}: {article(kinds)} would {must}, and here {the(r.found)} does it"
    if r.missing == "man":
        does = {
            "checks": "checks",
            "protects": "protects the checker",
            "guards": "guards",
            "stands": "stands",
        }[r.does]
        return f"{head}: no {kinds} {does} as it asks"
    why = {
        "blocked": "the king's own men are not in his way as it asks",
        "own man": "one of the king's own men takes part",
        "other piece": "another piece takes part",
        "place": "the king stands elsewhere",
    }.get(r.missing, "it differs in more than one thing")
    return f"{head}: {why}"


RULES: dict[type[rs.Reason], Callable[[Any], list[str]]] = {
    rs.WrongChoice: wrong_choice,
    rs.CannotPlace: cannot_place,
    rs.Standing: standing,
    rs.Removal: removal,
    rs.Trial: trial,
    rs.GivesMate: gives_mate,
    rs.LedgerDone: ledger_done,
    rs.LedgerFault: ledger_fault,
    rs.BadSquare: bad_square,
    rs.NameFits: name_fits,
    rs.NameMissing: name_missing,
}
