"""German for the verdict and the moves that lead to the mate."""

from __future__ import annotations

import chess

from flightless.words.facts import statements as st
from flightless.words.german.grammar import (
    SIDE,
    eye,
    figure_line,
    listed,
    name,
    number,
    sentence,
    sq,
    the,
    times,
)
from flightless.words.german.talk import Talk
from flightless.words.notation import Step

__all__ = [
    "delay",
    "ends_with",
    "first_moves",
    "is_mated",
    "key_move",
    "mate_in",
    "mated_in",
    "no_mate",
    "pattern_name",
    "replies",
    "undecided",
]

_MOST_NAMED = 3


def is_mated(s: st.IsMated, talk: Talk) -> list[str]:
    del talk
    king = "weiße" if s.mated else "schwarze"
    return [f"Es ist matt: Der {king} König auf {sq(s.king)} hat keine Antwort auf das Schach."]


def pattern_name(s: st.PatternName, talk: Talk) -> list[str]:
    """Nothing: the catalogue describes its patterns in English."""
    del s, talk
    return []


def mate_in(s: st.MateIn, talk: Talk) -> list[str]:
    del talk
    ways = "" if s.ways == 1 else f", auf {number(s.ways)} Arten"
    shorter = "" if s.shortest else "; ein kürzeres ist nicht ausgeschlossen"
    return [f"Matt in {times(s.moves, 'einem Zug', 'Zügen')}{ways}{shorter}."]


def first_moves(s: st.FirstMoves, talk: Talk) -> list[str]:
    del talk
    named = [eye(step, mate_word="") for step in s.keys[: s.named]]
    if s.named == len(s.keys):
        return [f"{listed(named)} tun es {'beide' if s.named == 2 else 'alle'}."]
    return [f"{listed(named)} sind drei davon."]


def mated_in(s: st.MatedIn, talk: Talk) -> list[str]:
    del talk
    moves = times(s.moves, "einem Zug", "Zügen")
    told = [f"{SIDE[s.defender]} wird in {moves} matt, was auch geschieht."]
    return [*told, f"Die Hauptvariante ist {figure_line(s.line)}."] if s.line else told


def no_mate(s: st.NoMate, talk: Talk) -> list[str]:
    del talk
    moves = times(s.moves, "einem Zug", "Zügen")
    return [f"{SIDE[s.attacker]} hat kein Matt in höchstens {moves}."]


def undecided(s: st.Undecided, talk: Talk) -> list[str]:
    del talk
    budget = f"{s.budget:,}".replace(",", ".")
    why = {
        "nodes": f"Die Suche endete an ihrer Grenze von {budget} Stellungen",
        "seconds": "Die Suche endete an ihrer Zeitgrenze",
        None: "Die Suche endete vorher",
    }[s.stopped_by]
    told = [f"Nicht entschieden: {why}."]
    if s.searched:
        moves = times(s.searched, "einem Zug", "Zügen")
        told.append(f"Ein Matt in {moves} gibt es nicht; mehr ist nicht bekannt.")
    return told


# --- first moves ---------------------------------------------------------------------------


def key_move(s: st.KeyMove, talk: Talk) -> list[str]:
    del talk
    moves = listed(eye(step, mate_word="") for step in s.steps)
    several = len(s.steps) > 1
    if s.steps[0].mate:
        return [f"Der {'einzige ' if s.only else ''}Zug ist {moves}."]
    if s.nature in ("quiet", "no check"):
        return _quiet(s, moves)
    if s.nature == "double check":
        men = listed(name(m.piece.piece_type, "dat") for m in s.checkers)
        what = f"Doppelschachs von {men}" if several else f"ein Doppelschach von {men}"
        head = (
            f"Der einzige erste Zug ist {moves}, {what}" if s.only else f"{moves} {_are(s)} {what}"
        )
        text = f"{head}, also muss der König ziehen"
        if s.king_must:
            text += f", und {sq(s.king_must[0])} ist sein einziges Feld"
        return [f"{text}."]
    if s.only:
        return [f"Der einzige erste Zug ist {moves}."]
    if s.nature == "discovered check":
        return [f"{moves} {_are(s)} {'Abzugsschachs' if several else 'ein Abzugsschach'}."]
    if several:
        return [f"{moves} tun es {'beide' if len(s.steps) == 2 else 'alle'}."]
    return [f"{moves} tut es mit Schach."]


def _are(s: st.KeyMove) -> str:
    return "ist" if len(s.steps) == 1 else "sind beide" if len(s.steps) == 2 else "sind alle"


def _quiet(s: st.KeyMove, moves: str) -> list[str]:
    threat = figure_line(s.threat) if s.threat else ""
    end = ", und es gibt keine Verteidigung" if s.no_defence else ""
    quiet = s.nature == "quiet"
    if len(s.steps) > 1:
        kind = "sind stille Züge" if quiet else "tun es ohne Schach"
        return [f"{moves} {kind}{f' mit der Drohung {threat}' if threat else ''}."]
    if s.only:
        head = f"Der einzige erste Zug ist {moves}{', ein stiller Zug' if quiet else ''}"
        return [f"{head}; er droht {threat}{end}."] if threat else [f"{head}."]
    if not threat:
        return [f"{moves} {'ist ein stiller Zug' if quiet else 'tut es ohne Schach'}."]
    return [f"{moves}{', ein stiller Zug,' if quiet else ''} droht {threat}{end}."]


# --- the play ------------------------------------------------------------------------------


def replies(s: st.Replies, talk: Talk) -> list[str]:
    del talk
    after = f"zuerst {eye(s.after)}. " if s.lead else ""
    if s.main:
        return [sentence(after + sentence(_main_reply(s)))]
    if s.replies == 1:
        return [sentence(after + sentence(_sole_reply(s)))]
    if len(s.branches) == 1:
        answer = eye(s.branches[0][1], mate_word="")
        return [f"Was {SIDE[not s.after.white]} auch antwortet, {answer} ist matt."]
    return [sentence(_by_mates(s))]


def _by_mates(s: st.Replies) -> str:
    parts = []
    for i, (these, answer) in enumerate(s.branches):
        mate = eye(answer, mate_word="")
        if i and i == len(s.branches) - 1 and len(these) > 2:
            parts.append(f"nach allem anderen {mate}")
        elif i:
            parts.append(f"nach {_named(these)} {mate}")
        else:
            parts.append(f"nach {_named(these)} ist {mate} matt")
    return ", ".join(parts)


def _named(these: tuple[Step, ...]) -> str:
    if len(these) > _MOST_NAMED:
        return f"{eye(these[0])} und {number(len(these) - 1)} anderen Antworten"
    return listed((eye(r, numbered=i == 0) for i, r in enumerate(these)), "oder")


def _main_reply(s: st.Replies) -> str:
    (reply,), answer = s.branches[0]
    count = f"{SIDE[not s.after.white]} hat {number(s.replies)} Antworten"
    last = f"die längste Verteidigung ist {eye(reply)}, {_answered(s, answer)}"
    if s.at_once:
        met = listed(f"auf {_named(these)} folgt {eye(a)}" for these, a in s.at_once)
        met = met[:1].upper() + met[1:]
        return f"{count}: {met}; {last}"
    if s.longest:
        return f"{count}; {last}"
    return f"{count}; die Hauptvariante ist {eye(reply)}, {_answered(s, answer)}"


def _sole_reply(s: st.Replies) -> str:
    (reply,), answer = s.branches[0]
    defender, move = SIDE[not s.after.white], eye(reply)
    again = " wieder" if s.again else ""
    man = the(_kind(reply), "acc")
    if s.said:
        verb = "ist" if answer.mate else "kommt"
        end = " matt" if answer.mate else ""
        return f"nach {move} {verb} {eye(answer, mate_word='')}{end}"
    how = {
        "takes": f"{defender} muss{again} schlagen: {move}",
        "king takes": f"der König muss{again} schlagen: {move}",
        "king": f"der König hat{again} nur ein Feld: {move}",
        "between": f"{defender} kann{again} nur {man} dazwischenstellen: {move}",
        "promotion": f"die einzige Antwort ist {move}",
        "other": f"die einzige Antwort ist{again} {move}",
    }[s.how]
    return f"{how}, {_answered(s, answer)}"


def _kind(step: Step) -> chess.PieceType:
    kind = step.board.piece_type_at(step.move.from_square)
    assert kind is not None
    return kind


def _answered(s: st.Replies, answer: Step) -> str:
    if s.back:
        kind = _kind(answer)
        article = the(kind).split()[0]
        man = f"{article} zweite {name(kind)}" if s.other else the(kind)
        return f"und {man} schlägt zurück, {eye(answer)}"
    if answer.mate:
        return f"und {eye(answer, mate_word='')} ist matt"
    return f"und dann {eye(answer)}"


def delay(s: st.Delay, talk: Talk) -> list[str]:
    del talk
    lines = listed((figure_line(line) for line in s.lines), "oder")
    end = ", und die Drohung bleibt" if s.threat_stays else ""
    return [f"{SIDE[s.defender]} kann nur verzögern: {lines}{end}."]


def ends_with(s: st.EndsWith, talk: Talk) -> list[str]:
    del talk
    return [f"Die Hauptvariante endet mit {eye(s.step)}."]
