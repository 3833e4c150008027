"""German for the mate itself: the check, the king's squares, the work, what is wrong."""

from __future__ import annotations

import chess

from flightless.cases.case import Man
from flightless.words.facts import statements as st
from flightless.words.german.grammar import (
    figure_line,
    his,
    line_name,
    listed,
    number,
    plural,
    pronoun,
    sentence,
    sq,
    sqs,
    the,
)
from flightless.words.german.talk import Talk

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


def check(s: st.Check, talk: Talk) -> list[str]:
    kind, at = s.checker.piece.piece_type, sq(s.checker.square)
    found = "es ist ein Abzugsschach: " if s.discovered and not s.after else ""
    if s.contact in ("before", "beside"):
        talk.introduced.add(s.checker)
        where = "vor" if s.contact == "before" else "neben"
        if s.after:
            head = f"nach {figure_line(s.after)} steht {the(kind)} auf {at} {where} dem König"
        else:
            head = f"{found}Auf {at} steht {the(kind)} {where} dem König"
    else:
        line = f" {line_name(s.line)}" if s.line is not None else ""
        man = talk.the(s.checker)
        if s.after:
            head = f"nach {figure_line(s.after)} gibt {man} Schach{line}"
        else:
            head = f"{found}{man[:1].upper()}{man[1:]} gibt Schach{line}"
    if s.protector is not None and s.mutual:
        head += f"; {pronoun(kind, 'nom')} und {talk.the(s.protector)} decken einander"
    elif s.protector is not None:
        head += f", und {talk.the(s.protector)} deckt {pronoun(kind)}"
    return [sentence(head)]


def double_check(s: st.DoubleCheck, talk: Talk) -> list[str]:
    after = f"nach {figure_line(s.after)}: " if s.after else ""
    men = talk.all(s.checkers)
    told = [sentence(f"{after}{men} geben beide Schach, also könnte nur der König ziehen")]
    told += [sentence(f"{talk.the(by)} deckt {talk.the(man, 'acc')}") for man, by in s.adjacent]
    return told


def safe(s: st.Safe, talk: Talk) -> list[str]:
    kind = s.checker.piece.piece_type
    him = talk.the(s.checker, "acc") if s.hindrances else pronoun(kind)
    captures = [h for h in s.hindrances if h.action == "capture"]
    betweens = [h for h in s.hindrances if h.action == "interposition"]
    told = [_hindered(h, him, talk) for h in captures + betweens]
    if not s.out_of_reach:
        return told
    parts = [f"sonst kann nichts {him} schlagen" if captures else f"nichts kann {him} schlagen"]
    if s.between:
        where = f"auf {sqs(s.between, 'oder')} " if len(s.between) <= 2 else ""
        if betweens:
            parts.append(f"sonst kann nichts {where}dazwischentreten")
        else:
            parts.append(f"nichts kann {where}dazwischentreten")
    return [*told, sentence(" und ".join(parts))]


def _hindered(h: st.Hindrance, him: str, talk: Talk) -> str:
    deed = f"{him} nicht schlagen" if h.action == "capture" else f"nicht auf {sq(h.target)} treten"
    man = talk.the(h.man)
    if h.why == "pinned":
        return sentence(f"{man} ist durch {talk.all(h.by, 'acc')} gefesselt und kann {deed}")
    if h.why == "shut off":
        could = deed.replace("nicht ", "", 1)
        own = pronoun(h.man.piece.piece_type, "dat")
        return sentence(f"{man} könnte {could}, aber {talk.all(h.by)} steht {own} im Weg")
    return sentence(f"{man} kann nicht im Vorübergehen schlagen: Das öffnete eine Linie zum König")


# --- the king's squares --------------------------------------------------------------------


def squares(s: st.Squares, talk: Talk) -> list[str]:
    held = _held(s)
    parts = [held] if held else []
    parts += [f"{talk.the(duty.man)} {_deeds(duty, talk)}" for duty in s.duties]
    return _broken(parts)


def _broken(parts: list[str]) -> list[str]:
    """Parts joined by semicolons, in sentences of bearable length."""
    told: list[list[str]] = [[]]
    for part in parts:
        if told[-1] and len(" ".join([*told[-1], part]).split()) > _LONGEST:
            told.append([])
        told[-1].append(part)
    return [sentence("; ".join(group)) for group in told if group]


def _held(s: st.Squares) -> str:
    if not s.held:
        return ""
    groups = [
        f"{sqs(at)} von {his(kind, len(at) > 1, 'dat', own=i == 0 and not s.all_held)}"
        for i, (kind, at) in enumerate(s.held)
    ]
    if s.all_held:
        return f"alle seine Felder sind von eigenen Steinen besetzt: {listed(groups)}"
    are = "sind" if len(s.held[0][1]) > 1 else "ist"
    first, *rest = groups
    at, by = first.split(" von ", 1)
    text = f"{at} {are} von {by} besetzt"
    return f"{text}{', ' if len(rest) > 1 else ' und ' if rest else ''}{listed(rest)}"


def _deeds(duty: st.Duty, talk: Talk) -> str:
    deeds = []
    if duty.protects:
        deeds.append(f"deckt {talk.all(duty.protects, 'acc')}")
    if duty.guards:
        deeds.append(f"beherrscht {sqs(duty.guards)}")
    if duty.pins:
        deeds.append(f"fesselt {talk.all((h.man for h in duty.pins), 'acc')}")
    return listed(deeds)


def two_things(s: st.TwoThings, talk: Talk) -> list[str]:
    much = "zweierlei" if s.duty.kinds == 2 else "dreierlei"
    man = talk.the(s.duty.man)
    it = pronoun(s.duty.man.piece.piece_type, "nom").capitalize()
    return [sentence(f"{man} leistet {much}: {it} {_deeds(s.duty, talk)}")]


def after_key(s: st.AfterKey, talk: Talk) -> list[str]:
    checkers = listed(the(m.piece.piece_type) for m in s.checkers)
    at = listed(sq(m.square) for m in s.checkers)
    give = "geben" if len(s.checkers) > 1 else "gibt"
    parts = [f"{give} {checkers} von {at} aus Schach"]
    guards: dict[Man, list[chess.Square]] = {}
    for square, man in s.guarded:
        guards.setdefault(man, []).append(square)
    for man, where in guards.items():
        if man in s.checkers:
            parts[0] += f" und beherrscht {sqs(where)}"
        else:
            parts.append(f"{talk.the(man)} beherrscht {sqs(where)}")
    if s.held:
        where = [man.square for man in s.held]
        are = "ist" if len(where) == 1 else "sind"
        kinds = {man.piece.piece_type for man in s.held}
        men = his(kinds.pop(), len(where) > 1, "dat") if len(kinds) == 1 else "eigenen Steinen"
        parts.append(f"{sqs(where)} {are} von {men} besetzt")
    whole = f"nach {figure_line(s.line)} {'; '.join(parts)}"
    if len(whole.split()) > _LONGEST:
        head = sentence(f"nach {figure_line(s.line)} {parts[0]}")
        return [head, *_broken(parts[1:])]
    return [sentence(whole)]


# --- what does the work, what is wrong -----------------------------------------------------


def enough(s: st.Enough, talk: Talk) -> list[str]:
    men = talk.all(s.mating)
    many = len(s.mating) > 1
    if s.plainly:
        return [sentence(f"{men} {'leisten' if many else 'leistet'} die Arbeit")]
    if not s.own:
        return [sentence(f"{men} {'schaffen' if many else 'schafft'} es allein")]
    own = talk.all(s.own)
    stand = "stehen" if len(s.own) > 1 else "steht"
    does = "schaffen" if many else "schafft"
    return [sentence(f"{men} {does} es, denn {own} {stand} dem König im Weg")]


def lone_guard(s: st.LoneGuard, talk: Talk) -> list[str]:
    return [sentence(f"{sq(s.square)} hängt an einem einzigen Wächter, {talk.the(s.man, 'dat')}")]


def in_the_way(s: st.InTheWay, talk: Talk) -> list[str]:
    if len(s.men) == 1:
        kind, at = s.men[0].piece.piece_type, sq(s.men[0].square)
        man = f"{his(kind, False, own=True)} auf {at}"
        return [sentence(f"{man} steht ihm im Weg: Ohne {pronoun(kind)} geht der König nach {at}")]
    kinds = {m.piece.piece_type for m in s.men}
    if len(kinds) == 1 and s.all_held and len(s.men) > 2:
        who = f"alle {number(len(s.men))} {plural(kinds.pop())}"
    else:
        who = talk.all(s.men)
    return [sentence(f"{who} stehen ihm im Weg: Nimmt man einen davon weg, so entkommt er")]


def shut_out(s: st.ShutOut, talk: Talk) -> list[str]:
    kind = s.defender.piece.piece_type
    at = sq(s.target)
    deed = (
        f"schlägt {the(kind)} auf {at}" if s.action == "capture" else f"tritt {the(kind)} auf {at}"
    )
    him = pronoun(s.man.piece.piece_type)
    man, defender = talk.the(s.man), talk.afresh([s.defender], "acc")
    return [sentence(f"{man} sperrt {defender} aus: Ohne {him} {deed}")]
