"""English for changes: what else would do, what is not needed, what would have saved him."""

from __future__ import annotations

import chess

from flightless.cases.case import Man
from flightless.words.english.grammar import (
    KIND,
    article,
    listed,
    men_on,
    place_phrase,
    pronoun,
    sentence,
    sq,
    sqs,
)
from flightless.words.english.talk import Talk
from flightless.words.facts import statements as st
from flightless.words.places import Span

_LONGEST = 28
"""Words in a sentence before it is broken in two."""

__all__ = ["instead", "luft_missing", "no_defender", "not_needed", "saved"]


def instead(s: st.Instead, talk: Talk) -> list[str]:
    man = talk.the(s.man)
    if s.others:
        return _others(s, man)
    same = listed((article(KIND[k]) for k in s.same_square), "or")
    if not same:
        return [sentence(f"{man} could also stand {place_phrase(s.elsewhere)}")]
    return [sentence(f"{same} would do as well as {man}{_and_elsewhere(s)}")]


def _and_elsewhere(s: st.Instead) -> str:
    """', and so would any square from a8 to d8'."""
    spans, singles = s.elsewhere.spans, s.elsewhere.singles
    if spans and singles:
        return f", which could also stand {place_phrase(s.elsewhere)}"
    if singles:
        kind = article(KIND[s.man.piece.piece_type])
        return f", and so would {kind} {place_phrase(s.elsewhere)}"
    return f", and so would {_any(spans)}" if spans else ""


def _others(s: st.Instead, man: str) -> list[str]:
    first, *rest = s.others
    told = f"{article(KIND[first.kind])} {place_phrase(first.places)} would do instead of {man}"
    more = [f"{article(KIND[o.kind])} {place_phrase(o.places)}" for o in rest]
    if s.elsewhere:
        more.append(f"{article(KIND[s.man.piece.piece_type])} {place_phrase(s.elsewhere)}")
    more += [f"{article(KIND[k])} on {sq(s.man.square)}" for k in s.same_square]
    if not more:
        return [sentence(told)]
    also = f"so would {', or '.join(more)}"
    if len(f"{told} {also}".split()) > _LONGEST:
        return [sentence(told), sentence(also)]
    return [sentence(f"{told}; {also}")]


def _any(spans: tuple[Span, ...]) -> str:
    """'any square from a8 to d8 or on the long diagonal'."""
    ways = [
        "on the long diagonal"
        if span.whole_long_diagonal
        else f"from {sq(span.first)} to {sq(span.last)}"
        for span in spans
    ]
    return f"any square {listed(ways, 'or')}"


def not_needed(s: st.NotNeeded, talk: Talk) -> list[str]:
    pawns = [m for m in s.men if m.piece.piece_type == chess.PAWN]
    pieces = [m for m in s.men if m.piece.piece_type != chess.PAWN]
    first, second = (pawns, pieces) if pawns and s.own else (list(s.men), [])
    plain = f"{talk.afresh(first)} {_are(first)} not needed"
    if not s.by:
        it = "them" if len(first) > 1 else pronoun(first[0].piece.piece_type)
        are = "is" if len(s.squares) == 1 else "are"
        plain += f": {sqs(s.squares)} {are} guarded without {it}"
    elif s.own:
        those = "that square" if len(first) == 1 else "those squares"
        plain += f": {talk.all(s.by)} guards {those} too"
    else:
        plain += f": {talk.all(s.by)} guards {sqs(s.squares)} too"
    told = [sentence(plain)]
    if second:
        told.append(sentence(f"even {talk.afresh(second)} {_are(second)} not needed"))
    return told


def _are(men: list[Man]) -> str:
    return "is" if len(men) == 1 else "are"


# --- what would have saved him -------------------------------------------------------------


def luft_missing(s: st.LuftMissing, talk: Talk) -> list[str]:
    frm, to = sq(s.pawn.square), sq(s.to)
    if s.in_the_way:
        told = [f"With the pawn a step ahead, on {to}, {talk.king()} gets out."]
    else:
        told = [f"With a pawn on {to} instead of {frm} {talk.king()} goes to {sq(s.flight)}."]
    return ["What is wrong: no luft.", *told] if s.back_rank else told


def no_defender(s: st.NoDefender, talk: Talk) -> list[str]:
    shade = "dark" if s.dark else "light"
    return [
        f"What is wrong: the {shade} squares round {talk.king()} have no defender.",
        f"A {shade}-squared bishop could stand on {sq(s.post)}.",
    ]


def saved(s: st.Saved, talk: Talk) -> list[str]:
    if s.after_luft:
        return [sentence(_as_well(idea, talk)) for idea in s.ideas]
    first, *rest = s.ideas
    told = [sentence(f"what would have saved him: {_idea(first, talk)}")]
    return told + [sentence(_as_well(idea, talk)) for idea in rest]


def _idea(idea: st.Idea, talk: Talk) -> str:
    if idea.kind == "shuts":
        return _shutter(idea, talk)
    return f"a man who {_deed(idea, talk)}, such as {men_on(idea.examples)}"


def _deed(idea: st.Idea, talk: Talk) -> str:
    if idea.kind == "guards":
        return f"guards {sqs(idea.squares)}"
    if idea.kind == "takes":
        assert idea.target is not None
        return f"could take {talk.the(idea.target)}"
    return f"could stand on {sqs(idea.squares, 'or')}"


def _shutter(idea: st.Idea, talk: Talk) -> str:
    assert idea.target is not None
    return f"a man on {sqs(idea.squares)}, in the way of {talk.the(idea.target)}"


def _as_well(idea: st.Idea, talk: Talk) -> str:
    if idea.kind == "shuts":
        return f"{_shutter(idea, talk)}, would have saved him as well"
    it = "either" if len(idea.examples) > 1 else pronoun(idea.examples[0][0], "subject")
    deed = {"guards": "guards", "takes": "takes", "stands on": "could stand on"}[idea.kind]
    what = sqs(idea.squares, "or")
    if idea.kind == "takes":
        assert idea.target is not None
        what = talk.the(idea.target)
    return f"{men_on(idea.examples)} would have saved him as well: {it} {deed} {what}"
