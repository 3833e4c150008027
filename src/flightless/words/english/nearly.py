"""English for positions that are not mate: the answers to a check, and what is missing."""

from __future__ import annotations

from flightless.words.english.grammar import (
    COLOUR,
    listed,
    men_on,
    number,
    pronoun,
    sentence,
    sq,
    sqs,
)
from flightless.words.english.talk import Talk
from flightless.words.facts import nearly as nt
from flightless.words.notation import eye

__all__ = [
    "check_now",
    "flights",
    "missing",
    "nearest_check",
    "not_mated",
    "other_answers",
    "would_mate",
]


def not_mated(s: nt.NotMated, talk: Talk) -> list[str]:
    talk.king_named = True
    side = COLOUR[s.side]
    if s.kind == "stalemate":
        return [f"It is stalemate: {side}'s king is not in check, and {side} has no legal move."]
    answers = "one answer" if s.answers == 1 else f"{number(s.answers)} answers"
    return [f"{side} is in check, and it is not mate: there {_are(s.answers)} {answers}."]


def _are(n: int) -> str:
    return "is" if n == 1 else "are"


def check_now(s: nt.CheckNow, talk: Talk) -> list[str]:
    checks = "checks" if len(s.checkers) == 1 else "both check"
    return [sentence(f"{talk.all(s.checkers)} {checks}")]


def flights(s: nt.Flights, talk: Talk) -> list[str]:
    told = []
    if s.free:
        them = "it" if len(s.free) == 1 else "them"
        told.append(sentence(f"{talk.king()} can go to {sqs(s.free, 'or')}: nothing guards {them}"))
    for man in s.takes:
        it = pronoun(man.piece.piece_type)
        told.append(sentence(f"{talk.king()} can take {talk.the(man)}: nobody protects {it}"))
    for square, guard, by in s.shut:
        told.append(sentence(f"{talk.the(guard)} would guard {sq(square)} but for {talk.the(by)}"))
    return told


def other_answers(s: nt.OtherAnswers, talk: Talk) -> list[str]:
    parts = [f"{talk.the(man)} can take {talk.the(victim)}" for man, victim in s.captures]
    parts += [f"{talk.the(man)} can stand on {sqs(at, 'or')}" for man, at in s.interpositions]
    return [sentence("; ".join(parts))]


def nearest_check(s: nt.NearestCheck, talk: Talk) -> list[str]:
    answers = "one answer" if s.answers == 1 else f"{number(s.answers)} answers"
    head = f"{eye(s.step)} leaves {answers}"
    ways = []
    if s.flights:
        where = sqs(s.flights, "or")
        why = ", which nothing guards" if len(s.flights) == 1 and not s.others else ""
        ways.append(f"{talk.king()} goes to {where}{why}")
    if s.others:
        ways.append(listed((eye(step, numbered=i == 0) for i, step in enumerate(s.others)), "or"))
    return [sentence(f"{head}: {listed(ways, 'or')}")]


def missing(s: nt.Missing, talk: Talk) -> list[str]:
    del talk
    what = f"a guard of {sqs(s.squares)}" if s.squares else "a check"
    return [sentence(f"what is missing for mate: {what}, such as {men_on(s.examples)}")]


def would_mate(s: nt.WouldMate, talk: Talk) -> list[str]:
    if s.blocked and s.mate is None:
        change = f"with a man of {talk.own()} on {sqs(s.blocked, 'or')}"
    elif s.blocked:
        change = f"with a {COLOUR[s.side].lower()} man on {sqs(s.blocked, 'or')}"
    elif s.added:
        change = f"with {men_on(s.added)}"
    else:
        change = f"without {listed((talk.the(man) for man in s.gone), 'or')}"
    if s.mate is not None:
        return [sentence(f"{change}, {eye(s.mate, mate_word='')} would be mate")]
    return [sentence(f"{change} it would be mate")]
