"""German for changes: what else would do, what is not needed, what would have saved him."""

from __future__ import annotations

import chess

from flightless.words.facts import statements as st
from flightless.words.german.grammar import (
    a,
    listed,
    men_on,
    place_phrase,
    pronoun,
    sentence,
    span_phrase,
    sq,
    sqs,
)
from flightless.words.german.talk import Talk

__all__ = ["instead", "luft_missing", "no_defender", "not_needed", "saved"]

_LONGEST = 28


def instead(s: st.Instead, talk: Talk) -> list[str]:
    kind = s.man.piece.piece_type
    if s.others:
        return _others(s, talk)
    same = listed((a(k) for k in s.same_square), "oder")
    man = talk.the(s.man)
    if not same:
        return [sentence(f"{man} könnte auch {place_phrase(s.elsewhere)} stehen")]
    text = f"{same} täte es ebenso wie {man}"
    spans, singles = s.elsewhere.spans, s.elsewhere.singles
    if spans and not singles:
        text += f", und ebenso jedes Feld {listed(map(span_phrase, spans), 'oder')}"
    elif spans or singles:
        text += f", und ebenso {a(kind)} {place_phrase(s.elsewhere)}"
    return [sentence(text)]


def _others(s: st.Instead, talk: Talk) -> list[str]:
    first, *rest = s.others
    man = talk.the(s.man, "gen")
    told = f"{a(first.kind)} {place_phrase(first.places)} täte es anstelle {man}"
    more = [f"{a(o.kind)} {place_phrase(o.places)}" for o in rest]
    if s.elsewhere:
        more.append(f"{a(s.man.piece.piece_type)} {place_phrase(s.elsewhere)}")
    more += [f"{a(k)} auf {sq(s.man.square)}" for k in s.same_square]
    if not more:
        return [sentence(told)]
    also = f"ebenso {', oder '.join(more)}"
    if len(f"{told} {also}".split()) > _LONGEST:
        return [sentence(told), sentence(also)]
    return [sentence(f"{told}; {also}")]


def not_needed(s: st.NotNeeded, talk: Talk) -> list[str]:
    pawns = [m for m in s.men if m.piece.piece_type == chess.PAWN]
    pieces = [m for m in s.men if m.piece.piece_type != chess.PAWN]
    first, second = (pawns, pieces) if pawns and s.own else (list(s.men), [])
    many = len(first) > 1
    plain = f"{talk.afresh(first)} {'sind' if many else 'ist'} nicht nötig"
    if not s.by:
        it = "sie" if many else pronoun(first[0].piece.piece_type)
        are = "sind" if len(s.squares) > 1 else "ist"
        plain += f": {sqs(s.squares)} {are} auch ohne {it} beherrscht"
    else:
        those = ("diese Felder" if many else "dieses Feld") if s.own else sqs(s.squares)
        plain += f": Auch {talk.all(s.by)} beherrscht {those}"
    told = [sentence(plain)]
    if second:
        are = "sind" if len(second) > 1 else "ist"
        told.append(sentence(f"nicht einmal {talk.afresh(second)} {are} nötig"))
    return told


# --- what would have saved him -------------------------------------------------------------


def luft_missing(s: st.LuftMissing, talk: Talk) -> list[str]:
    del talk
    frm, to = sq(s.pawn.square), sq(s.to)
    if s.in_the_way:
        told = [f"Stünde der Bauer einen Schritt weiter, auf {to}, so entkäme der König."]
    else:
        told = [f"Mit einem Bauern auf {to} statt auf {frm} geht der König nach {sq(s.flight)}."]
    return ["Was fehlt, ist ein Luftloch.", *told] if s.back_rank else told


def no_defender(s: st.NoDefender, talk: Talk) -> list[str]:
    del talk
    shade = "dunklen" if s.dark else "hellen"
    bishop = "schwarzfeldriger" if s.dark else "weißfeldriger"
    return [
        f"Der Fehler: Die {shade} Felder um den König haben keinen Verteidiger.",
        f"Ein {bishop} Läufer könnte auf {sq(s.post)} stehen.",
    ]


def saved(s: st.Saved, talk: Talk) -> list[str]:
    if s.after_luft:
        return [sentence(_as_well(idea, talk)) for idea in s.ideas]
    first, *rest = s.ideas
    told = [sentence(f"was ihn gerettet hätte: {_idea(first, talk)}")]
    return told + [sentence(_as_well(idea, talk)) for idea in rest]


def _idea(idea: st.Idea, talk: Talk) -> str:
    if idea.kind == "shuts":
        return _shutter(idea, talk)
    if idea.kind == "guards":
        deed = f"der {sqs(idea.squares)} deckt"
    elif idea.kind == "takes":
        assert idea.target is not None
        deed = f"der {talk.the(idea.target, 'acc')} schlagen könnte"
    else:
        deed = f"der auf {sqs(idea.squares, 'oder')} treten könnte"
    return f"ein Stein, {deed}, etwa {men_on(idea.examples)}"


def _shutter(idea: st.Idea, talk: Talk) -> str:
    assert idea.target is not None
    return f"ein Stein auf {sqs(idea.squares)}, {talk.the(idea.target, 'dat')} im Weg"


def _as_well(idea: st.Idea, talk: Talk) -> str:
    if idea.kind == "shuts":
        return f"auch {_shutter(idea, talk)}, hätte ihn gerettet"
    one = len(idea.examples) == 1
    it = pronoun(idea.examples[0][0], "nom").capitalize() if one else "Jeder von beiden"
    if idea.kind == "takes":
        assert idea.target is not None
        deed = f"{it} schlägt {talk.the(idea.target, 'acc')}"
    elif idea.kind == "guards":
        deed = f"{it} deckt {sqs(idea.squares)}"
    else:
        deed = f"{it} könnte auf {sqs(idea.squares, 'oder')} treten"
    return f"auch {men_on(idea.examples)} hätte ihn gerettet: {deed}"
