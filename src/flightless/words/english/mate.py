"""English for the mate itself: the check, the king's squares, the work, what is wrong."""

from __future__ import annotations

import chess

from flightless.cases.case import Man
from flightless.words.english.grammar import (
    KIND,
    line_name,
    listed,
    number,
    plural,
    pronoun,
    sentence,
    sq,
    sqs,
)
from flightless.words.english.talk import Talk
from flightless.words.facts import statements as st
from flightless.words.notation import Step, figure_line

__all__ = [
    "after_key",
    "check",
    "double_check",
    "enough",
    "in_the_way",
    "lone_guard",
    "safe",
    "shut_out",
    "squares",
    "two_things",
]

_LONGEST = 30
"""Words in a sentence before it is broken in two."""


def _after(line: tuple[Step, ...]) -> str:
    return f"after {figure_line(line)} " if line else ""


def check(s: st.Check, talk: Talk) -> list[str]:
    after = _after(s.after)
    if s.discovered:
        after += "it is a discovered check: " if not after else "by a discovered check "
    kind = s.checker.piece.piece_type
    if s.contact == "far":
        assert s.line is not None
        return [sentence(f"{after}{talk.the(s.checker)} checks along {line_name(s.line)}")]
    if s.contact == "knight":
        return [sentence(f"{after}{talk.the(s.checker)} checks")]
    if s.contact == "pawn":
        head = f"{after}{talk.the(s.checker)} checks"
    else:
        talk.introduced.add(s.checker)
        where = "before" if s.contact == "before" else "next to"
        after = after.rstrip() + ", " if after.endswith("mate ") else after
        head = f"{after}on {sq(s.checker.square)} the {KIND[kind]} stands {where} {talk.king()}"
    if s.protector is not None and s.mutual:
        it = pronoun(kind, "subject")
        head += f"; {it} and {talk.the(s.protector)} protect each other"
    elif s.protector is not None:
        head += f", and {talk.the(s.protector)} protects {pronoun(kind)}"
    return [sentence(head)]


def double_check(s: st.DoubleCheck, talk: Talk) -> list[str]:
    after = _after(s.after)
    told = [sentence(f"{after}{talk.all(s.checkers)} both check, so only {talk.king()} could move")]
    told += [sentence(f"{talk.the(by)} protects {talk.the(man)}") for man, by in s.adjacent]
    return told


def safe(s: st.Safe, talk: Talk) -> list[str]:
    him = talk.the(s.checker) if s.hindrances else pronoun(s.checker.piece.piece_type)
    told = []
    captures = [h for h in s.hindrances if h.action == "capture"]
    betweens = [h for h in s.hindrances if h.action == "interposition"]
    told += [_hindered(h, him, talk) for h in captures + betweens]
    if not s.out_of_reach:
        return told
    parts = [f"nothing {'else ' if captures else ''}can take {him}"]
    if 1 <= len(s.between) <= 2:
        other = "else " if betweens else ""
        parts.append(f"nothing {other}can stand on {sqs(s.between, 'or')}")
    elif s.between:
        parts.append(f"nothing {'else ' if betweens else ''}can stand between")
    told.append(sentence(" and ".join(parts)))
    return told


def _hindered(h: st.Hindrance, him: str, talk: Talk) -> str:
    deed = f"take {him}" if h.action == "capture" else f"stand on {sq(h.target)}"
    if h.why == "pinned":
        return sentence(f"{talk.the(h.man)} is pinned by {talk.all(h.by)} and cannot {deed}")
    if h.why == "shut off":
        own = pronoun(h.man.piece.piece_type, "own")
        return sentence(f"{talk.the(h.man)} could {deed}, but {talk.all(h.by)} is in {own} way")
    return sentence(f"{talk.the(h.man)} cannot take in passing: that would open a line to the king")


# --- the king's squares --------------------------------------------------------------------


def squares(s: st.Squares, talk: Talk) -> list[str]:
    held = _held(s, talk)
    parts = [held] if held else []
    parts += [f"{talk.the(duty.man)} {_deeds(duty, talk)}" for duty in s.duties]
    return _broken(parts)


def _deeds(duty: st.Duty, talk: Talk) -> str:
    """'protects the queen and guards e7'."""
    deeds = []
    if duty.protects:
        deeds.append(f"protects {talk.all(duty.protects)}")
    if duty.pins:
        deeds.append(f"pins {listed(_pinned(h, talk) for h in duty.pins)}")
    if duty.guards:
        deeds.insert(len(deeds) if not duty.pins else 0, f"guards {sqs(duty.guards)}")
    return listed(deeds)


def _pinned(h: st.Hindrance, talk: Talk) -> str:
    it = pronoun(h.man.piece.piece_type, "subject")
    deed = "take" if h.action == "capture" else f"stand on {sq(h.target)}"
    return f"{talk.the(h.man)}, so that {it} cannot {deed}"


def _broken(parts: list[str]) -> list[str]:
    """Parts joined by semicolons, in sentences of bearable length."""
    told: list[list[str]] = [[]]
    for part in parts:
        if told[-1] and len(" ".join([*told[-1], part]).split()) > _LONGEST:
            told.append([])
        told[-1].append(part)
    return [sentence("; ".join(group)) for group in told if group]


def _held(s: st.Squares, talk: Talk) -> str:
    """'f7 and h7 are held by his own pawns and f8 by his rook'."""
    if not s.held:
        return ""
    if s.all_held:
        talk.king_named = True
        groups = listed(f"{sqs(at)} by his {_men(kind, at)}" for kind, at in s.held)
        if len(s.held) == 1 and len(s.held[0][1]) == 1:
            return f"his only square, {sqs(s.held[0][1])}, is held by his own {KIND[s.held[0][0]]}"
        return f"all his squares are held by his own men: {groups}"
    (kind, at), *rest = s.held
    are = "are" if len(at) > 1 else "is"
    text = f"{sqs(at)} {are} held by {talk.own()} {_men(kind, at)}"
    more = listed(f"{sqs(where)} by his {_men(other, where)}" for other, where in rest)
    if not rest:
        return text
    return f"{text}{', ' if len(rest) > 1 else ' and '}{more}"


def _men(kind: chess.PieceType, at: tuple[chess.Square, ...]) -> str:
    return plural(kind) if len(at) > 1 else KIND[kind]


def two_things(s: st.TwoThings, talk: Talk) -> list[str]:
    man = talk.the(s.duty.man)
    it = pronoun(s.duty.man.piece.piece_type, "subject")
    return [sentence(f"{man} does {number(s.duty.kinds)} things: {it} {_deeds(s.duty, talk)}")]


def after_key(s: st.AfterKey, talk: Talk) -> list[str]:
    checkers = listed(f"the {KIND[m.piece.piece_type]}" for m in s.checkers)
    check = "check" if len(s.checkers) > 1 else "checks"
    does = f"{checkers} {check} from {listed(sq(m.square) for m in s.checkers)}"
    guards: dict[Man, list[chess.Square]] = {}
    for square, man in s.guarded:
        guards.setdefault(man, []).append(square)
    own = guards.pop(s.checkers[0], None) if len(s.checkers) == 1 else None
    if own:
        does += f" and guards {sqs(own)}"
    parts = [does, *(f"{talk.the(man)} guards {sqs(at)}" for man, at in guards.items())]
    if s.held:
        kinds = {man.piece.piece_type for man in s.held}
        at = tuple(man.square for man in s.held)
        men = _men(kinds.pop(), at) if len(kinds) == 1 else "men"
        parts.append(f"{sqs(at)} {'are' if len(at) > 1 else 'is'} held by {talk.own()} {men}")
    text = "; ".join(parts) if own else listed(parts)
    whole = f"{_after(s.line)}{text}"
    if len(whole.split()) > _LONGEST:
        return [sentence(f"{_after(s.line)}{does}"), *_broken(parts[1:])]
    return [sentence(whole)]


# --- what does the work, what is wrong -----------------------------------------------------


def enough(s: st.Enough, talk: Talk) -> list[str]:
    men = talk.all(s.mating)
    does = "does" if len(s.mating) == 1 else "do"
    if s.plainly:
        return [sentence(f"{men} {does} the work")]
    if not s.own:
        return [sentence(f"{men} {does} it alone")]
    return [sentence(f"{men} {does} it, with {talk.all(s.own)} in the king's way")]


def lone_guard(s: st.LoneGuard, talk: Talk) -> list[str]:
    return [sentence(f"{sq(s.square)} hangs on one guard only, {talk.the(s.man)}")]


def in_the_way(s: st.InTheWay, talk: Talk) -> list[str]:
    if len(s.men) == 1:
        man = s.men[0]
        kind, it = KIND[man.piece.piece_type], pronoun(man.piece.piece_type)
        at = sq(man.square)
        return [sentence(f"his own {kind} on {at} stands in his way: without {it} he goes to {at}")]
    kinds = {m.piece.piece_type for m in s.men}
    if len(kinds) == 1 and s.all_held and len(s.men) > 2:
        who = f"all {number(len(s.men))} {plural(kinds.pop())}"
    else:
        who = talk.all(s.men)
    either = "either" if len(s.men) == 2 else "any of them"
    return [sentence(f"{who} stand in his way: take {either} off and he gets out")]


def shut_out(s: st.ShutOut, talk: Talk) -> list[str]:
    kind = s.defender.piece.piece_type
    deed = "takes" if s.action == "capture" else "can stand"
    defender = talk.afresh([s.defender])
    return [
        sentence(
            f"{talk.the(s.man)} shuts off {defender}: without it the {KIND[kind]} {deed} "
            f"on {sq(s.target)}"
        )
    ]
