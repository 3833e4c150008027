"""German for the reasons of a mated position: men put on and taken off, ledgers, names."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import chess

from flightless.cases.case import Man
from flightless.exercises import reasons as rs
from flightless.patterns.recognise import catalogue
from flightless.words.german import grammar as g
from flightless.words.german.grammar import SIDE, sentence, sq, sqs
from flightless.words.german.pattern_names import name_of_pattern, pattern_phrase
from flightless.words.german.reason_moves import capital, clauses, escape_clause, the, the_all

__all__ = ["RULES", "STANDINGS"]

STANDINGS = {"mate": "Matt", "check": "Schach", "stalemate": "Patt"}


def wrong_choice(r: rs.WrongChoice) -> list[str]:
    choices = ", ".join(map(_choice, r.choices))
    if not r.text:
        return [f"Es gibt keine Antwort; zur Wahl stehen {choices}."]
    return [f"„{r.text}“ steht nicht zur Wahl: {choices}."]


def _choice(choice: str) -> str:
    """A pattern by its German name; squares, letters and kinds as they are."""
    known = any(pattern.name == choice for pattern in catalogue().patterns)
    return name_of_pattern(choice) if known else choice


def cannot_place(r: rs.CannotPlace) -> list[str]:
    if r.why == "taken":
        there = g.a(r.by.piece.piece_type) if r.by is not None else "ein Stein"
        return [sentence(f"{sq(r.man.square)} ist besetzt: Dort steht {there}")]
    if r.why == "end rank":
        return ["Ein Bauer kann nicht auf der ersten oder der letzten Reihe stehen."]
    return [f"Es ist k{g.a(r.man.piece.piece_type)} aufzustellen."]


def standing(r: rs.Standing) -> list[str]:
    side = SIDE[r.side]
    is_not = "" if r.said == r.standing else f", nicht {STANDINGS[r.said]}"
    if r.standing == "stalemate":
        return [
            f"Es ist Patt{is_not}: Der König auf {sq(r.king)} steht nicht im Schach, und {side} "
            f"hat keinen erlaubten Zug."
        ]
    check = f"{the_all(r.checkers)} {'geben' if len(r.checkers) > 1 else 'gibt'} Schach"
    if r.standing == "mate":
        return [sentence(f"es ist Matt{is_not}: {capital(check)}, und {side} hat keine Antwort")]
    assert r.escape is not None
    if r.said == "mate":
        why = capital(escape_clause(r.escape, ", denn "))
        return [sentence(f"es ist Schach und kein Matt: {why}")]
    return [sentence(f"es ist Schach{is_not}: {capital(check)}"), sentence(escape_clause(r.escape))]


def removal(r: rs.Removal) -> list[str]:
    without = f"ohne {the(r.man, 'acc')}"
    if r.check_gone:
        return [sentence(f"{without} gibt es kein Schach")]
    if r.escape is not None:
        why = "" if r.own_square else ": "
        return [sentence(f"{without} {escape_clause(r.escape, why, turned=True)}")]
    still = f"{without} ist es immer noch matt"
    if not r.held:
        return [sentence(still)]
    by: dict[Man, list[chess.Square]] = {}
    for square, man in r.held:
        by.setdefault(man, []).append(square)
    deeds = clauses([_holds(man, squares) for man, squares in by.items()])
    return [sentence(f"{still}: {capital(deeds)}")]


def _holds(man: Man, squares: Sequence[chess.Square]) -> str:
    kind = man.piece.piece_type
    if list(squares) == [man.square]:
        return f"{g.his(kind, False, own=True)} auf {sq(man.square)} steht ihm im Weg"
    return f"{the(man)} beherrscht {sqs(squares)}"


def trial(r: rs.Trial) -> list[str]:
    there = f"mit {the_all(r.men, 'dat')}"
    if r.trouble == "no check":
        return [sentence(f"{there} gibt es kein Schach")]
    if r.trouble == "stalemate":
        return [sentence(f"{there} ist es patt: Es gibt kein Schach")]
    if r.trouble == "own king":
        king = "weiße" if r.men[0].piece.color else "schwarze"
        return [sentence(f"{there} steht der {king} König selbst im Schach")]
    assert r.escape is not None
    man = r.men[0]
    if r.target is not None and r.target != man:
        if r.escape.taken == r.target and not r.reaches:
            told = f"{the(man)} deckt {the(r.target, 'acc')} nicht"
            if r.shut_by is not None:
                him = g.pronoun(man.piece.piece_type, "dat")
                told += f": {capital(the(r.shut_by))} steht {him} im Weg"
            return [sentence(told), sentence(escape_clause(r.escape, ""))]
        if r.reaches and r.escape.taken != r.target:
            protects = f"{the(man)} deckt {the(r.target, 'acc')}"
            return [sentence(f"{protects}, aber {escape_clause(r.escape)}")]
    why = capital(escape_clause(r.escape, ", denn "))
    return [sentence(f"{there} ist es kein Matt: {why}")]


def gives_mate(r: rs.GivesMate) -> list[str]:
    deeds: dict[Man, list[str]] = {man: [] for man in r.men}
    for man in r.checks:
        deeds[man].append("gibt Schach")
    for man, protected in r.protects:
        deeds[man].append(f"deckt {the(protected, 'acc')}")
    for man, squares in r.guards:
        deeds[man].append(f"beherrscht {sqs(squares)}")
    said = [f"{_it(r, man)} {g.listed(what)}" for man, what in deeds.items() if what]
    told = f"mit {the_all(r.men, 'dat')} ist es matt"
    told += f": {capital('; '.join(said))}" if said else ""
    more = []
    if r.others == 1:
        more.append("Eine weitere Antwort ist richtig.")
    elif r.others:
        more.append(f"{capital(g.number(r.others))} weitere Antworten sind richtig.")
    return [sentence(told), *more]


def _it(r: rs.GivesMate, man: Man) -> str:
    kind = man.piece.piece_type
    if len(r.men) == 1:
        return g.pronoun(kind, "nom")
    differ = len({m.piece.piece_type for m in r.men}) == len(r.men)
    return g.the(kind) if differ else the(man)


# --- the ledger ------------------------------------------------------------------------------


def ledger_done(r: rs.LedgerDone) -> list[str]:
    told = [f"Alle {g.number(r.squares)} Felder stimmen."]
    if r.squares == 1:
        told = ["Das eine Feld stimmt."]
    if r.lone:
        square, man = r.lone[0]
        if man.square == square:
            told.append(sentence(f"{sq(square)} ist allein durch {the(man, 'acc')} versperrt"))
        else:
            told.append(sentence(f"{sq(square)} beherrscht nur einer, {the(man)}"))
    return told


def ledger_fault(r: rs.LedgerFault) -> list[str]:
    square = sq(r.square)
    true = capital(_true_men(r))
    if r.problem == "missing":
        told = f"{square} fehlt: {true}"
    elif r.said is not None and r.said.square == r.square:
        told = f"auf {square} steht ihm kein eigener Stein im Weg: {true}"
    else:
        who = the(r.said) if r.said is not None else "dieser Stein"
        told = f"{who} sorgt nicht für {square}: {true}"
    count = f"{capital(g.number(r.right))} von {g.number(r.all)} Feldern stimmen."
    if r.right == 1:
        count = f"Eines von {g.number(r.all)} Feldern stimmt."
    return [sentence(told), count] if r.right else [sentence(told)]


def _true_men(r: rs.LedgerFault) -> str:
    first, *more = r.by
    guards = r.by
    told = []
    if r.blocked:
        told.append(f"darauf steht {g.his(first.piece.piece_type, False, own=True)}")
        guards = tuple(more)
    if guards:
        verb = "beherrscht" if len(guards) == 1 else "beherrschen"
        told.append(f"{the_all(guards)} {verb} {'es ebenfalls' if r.blocked else 'es'}")
    return g.listed(told)


def bad_square(r: rs.BadSquare) -> list[str]:
    if r.empty:
        return [sentence(f"auf {sq(r.square)} steht kein solcher Stein")]
    return [sentence(f"{sq(r.square)} ist kein Feld neben dem König auf {sq(r.king)}")]


# --- names -----------------------------------------------------------------------------------


def name_fits(r: rs.NameFits) -> list[str]:
    told = [sentence(f"das Muster stimmt: {pattern_phrase(r.description, r.known_as)}")]
    cast = [f"{the_all(men)} {_PLAYS[role][len(men) > 1]}" for role, men in r.men if role in _PLAYS]
    if cast:
        told.append(sentence(clauses(cast)))
    return told


_PLAYS = {
    "checker": ("gibt Schach", "geben Schach"),
    "supporter": ("deckt", "decken"),
    "guard": ("beherrscht Felder", "beherrschen Felder"),
    "blockers": ("steht dem König im Weg", "stehen dem König im Weg"),
    "shoulders": ("steht an der Schulter des Königs", "stehen an den Schultern des Königs"),
}


def name_missing(r: rs.NameMissing) -> list[str]:
    told = [sentence(_lack(r))]
    if r.fits is not None:
        told.append(sentence(f"das Muster hier: {pattern_phrase(*r.fits)}"))
    return told


def _lack(r: rs.NameMissing) -> str:
    name = pattern_phrase(r.description, r.known_as)
    head = f"{name if name.startswith('„') else f'„{name}“'} passt nicht"
    kinds = r.kinds or (chess.PAWN,)
    if r.missing == "kind" and r.found is not None:
        must = {
            "checks": "Schach geben",
            "protects": "den schachgebenden Stein decken",
            "guards": "Felder des Königs beherrschen",
            "stands": "beteiligt sein",
        }[r.does]
        who = g.listed((g.a(k) for k in kinds), "oder") if r.kinds else "ein anderer Stein"
        return f"{head}: {capital(who)} müsste {must}, und hier ist es {the(r.found)}"
    if r.missing == "man":
        does = {
            "checks": "gibt Schach",
            "protects": "deckt den schachgebenden Stein",
            "guards": "beherrscht die Felder",
            "stands": "steht da",
        }[r.does]
        who = g.listed((f"k{g.a(k)}" for k in kinds), "und") if r.kinds else "kein Stein"
        return f"{head}: {capital(who)} {does}, wie es sein müsste"
    why = {
        "blocked": "Die eigenen Steine stehen dem König nicht so im Weg, wie es sein müsste",
        "own man": "Einer der eigenen Steine des Königs ist beteiligt",
        "other piece": "Ein weiterer Stein ist beteiligt",
        "place": "Der König steht woanders",
    }.get(r.missing, "Es weicht in mehr als einem Punkt ab")
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
