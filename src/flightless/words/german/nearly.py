"""German for positions that are not mate, and for single changes."""

from __future__ import annotations

from flightless.words.facts import nearly as nt
from flightless.words.facts import what_if as wt
from flightless.words.german.grammar import (
    SIDE,
    a,
    eye,
    listed,
    men_on,
    place_phrase,
    pronoun,
    sentence,
    sq,
    sqs,
    the,
    times,
)
from flightless.words.german.talk import Talk
from flightless.words.notation import Step

__all__ = [
    "at_the_start",
    "blocked_as_well",
    "breaks",
    "check_now",
    "flights",
    "missing",
    "nearest_check",
    "not_mated",
    "other_answers",
    "slides",
    "would_mate",
]


def not_mated(s: nt.NotMated, talk: Talk) -> list[str]:
    del talk
    side = SIDE[s.side]
    if s.kind == "stalemate":
        return [f"Es ist patt: {side} steht nicht im Schach und hat keinen legalen Zug."]
    answers = times(s.answers, "eine Antwort", "Antworten")
    return [f"{side} steht im Schach, aber es ist nicht matt: Es gibt {answers}."]


def check_now(s: nt.CheckNow, talk: Talk) -> list[str]:
    give = "gibt" if len(s.checkers) == 1 else "geben beide"
    return [sentence(f"{talk.all(s.checkers)} {give} Schach")]


def flights(s: nt.Flights, talk: Talk) -> list[str]:
    told = []
    if s.free:
        them = "dieses Feld" if len(s.free) == 1 else "diese Felder"
        told.append(
            sentence(f"der König kann nach {sqs(s.free, 'oder')}: Niemand beherrscht {them}")
        )
    for man in s.takes:
        him = pronoun(man.piece.piece_type)
        told.append(
            sentence(f"der König kann {talk.the(man, 'acc')} schlagen: Niemand deckt {him}")
        )
    for square, guard, by in s.shut:
        told.append(
            sentence(
                f"{talk.the(guard)} beherrschte {sq(square)}, stünde nicht {talk.the(by)} im Weg"
            )
        )
    return told


def other_answers(s: nt.OtherAnswers, talk: Talk) -> list[str]:
    parts = [f"{talk.the(m)} kann {talk.the(v, 'acc')} schlagen" for m, v in s.captures]
    parts += [f"{talk.the(m)} kann auf {sqs(at, 'oder')} treten" for m, at in s.interpositions]
    return [sentence("; ".join(parts))]


def nearest_check(s: nt.NearestCheck, talk: Talk) -> list[str]:
    del talk
    answers = times(s.answers, "eine Antwort", "Antworten")
    ways = []
    if s.flights:
        ways.append(f"der König geht nach {sqs(s.flights, 'oder')}")
    if s.others:
        moves = (eye(step, numbered=i == 0) for i, step in enumerate(s.others))
        ways.append(listed(moves, "oder"))
    told = listed(ways, "oder")
    told = told[:1].upper() + told[1:]
    return [sentence(f"{eye(s.step)} lässt {answers}: {told}")]


def missing(s: nt.Missing, talk: Talk) -> list[str]:
    del talk
    what = f"ein Wächter für {sqs(s.squares)}" if s.squares else "ein Schach"
    return [sentence(f"zum Matt fehlt {what}, etwa {men_on(s.examples)}")]


def would_mate(s: nt.WouldMate, talk: Talk) -> list[str]:
    if s.blocked:
        own = (
            "einem eigenen Stein"
            if s.mate is None
            else ("einem weißen Stein" if s.side else "einem schwarzen Stein")
        )
        change = f"mit {own} auf {sqs(s.blocked, 'oder')}"
    elif s.added:
        change = f"mit {men_on(s.added, 'dat')}"
    else:
        change = f"ohne {listed((talk.the(man, 'acc') for man in s.gone), 'oder')}"
    mate = eye(s.mate, mate_word="") if s.mate is not None else "es"
    return [sentence(f"{change} wäre {mate} matt")]


# --- single changes ------------------------------------------------------------------------


def breaks(s: wt.Breaks, talk: Talk) -> list[str]:
    del talk
    kind, at = s.man.piece.piece_type, sq(s.man.square)
    if s.to is None:
        change = f"ohne {the(kind, 'acc')} auf {at}"
    else:
        change = f"mit {the(kind, 'dat')} auf {sq(s.to)} statt auf {at}"
    if s.earlier:
        return [sentence(f"{change} vor dem Mattzug ist es nicht matt")]
    if s.answer is None:
        return [sentence(f"{change} ist es kein Schach")]
    return [sentence(f"{change} {_then(s.answer)}")]


def _then(answer: Step) -> str:
    kind = answer.board.piece_type_at(answer.move.from_square)
    assert kind is not None
    where = sq(answer.move.to_square)
    if answer.board.is_capture(answer.move):
        return f"schlägt {the(kind)} auf {where}"
    return f"geht {the(kind)} nach {where}"


def blocked_as_well(s: wt.BlockedAsWell, talk: Talk) -> list[str]:
    del talk
    at = sq(s.blocker.square)
    kinds = listed((a(kind) for kind in s.kinds), "oder")
    return [sentence(f"auf {at} täte es {kinds} ebenso wie {the(s.blocker.piece.piece_type)}")]


def slides(s: wt.Slides, talk: Talk) -> list[str]:
    return [sentence(f"{talk.the(s.man)} könnte auch {place_phrase(s.places)} stehen")]


def at_the_start(s: wt.AtTheStart, talk: Talk) -> list[str]:
    if s.kind is None:
        man = talk.the(s.men[0])
        return [sentence(f"am Anfang könnte {man} auch {place_phrase(s.places)} stehen")]
    men = listed((talk.afresh([man], "gen") for man in s.men), "oder")
    return [sentence(f"am Anfang täte es {a(s.kind)} anstelle {men}")]
