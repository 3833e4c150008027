"""English for the further findings: what moves are for, tries, the other king, shared duties."""

from __future__ import annotations

from flightless.words.english.grammar import COLOUR, KIND, article, listed, sentence, sq, sqs
from flightless.words.english.talk import Talk
from flightless.words.facts import further as ft
from flightless.words.notation import eye

__all__ = ["either", "meaning", "other_king", "try_fails"]


def meaning(s: ft.Meaning, talk: Talk) -> list[str]:
    move = eye(s.step)
    if s.zugzwang:
        side = COLOUR[not s.step.white]
        return [f"{move} threatens nothing: {side} loses because {side} must move."]
    if s.gives is None:
        return _plain(s, move, talk)
    gift = f"{move} {'gives' if s.forced else 'offers'} the {KIND[s.gives]}"
    if s.gains is not None:
        gift += f" for the {KIND[s.gains]}"
    does = _does(s, talk)
    if s.king_to is not None:
        text = f"{gift}, to draw the king to {sq(s.king_to)}"
    elif does and s.taker is not None:
        text = f"{gift}: the {KIND[s.taker]} that takes {listed(does)}"
    else:
        text = gift
    if s.clears is not None and not does:
        text += f", and {_clears(s, talk)}"
    return [sentence(text)]


def _plain(s: ft.Meaning, move: str, talk: Talk) -> list[str]:
    if s.becomes is not None:
        return [sentence(f"{move}: the pawn becomes {article(KIND[s.becomes])}, not a queen")]
    if s.blocks is not None and s.taker is not None:
        return [sentence(f"{move} makes the {KIND[s.taker]} block {sq(s.blocks)}")]
    if s.leaves is not None and s.taker is not None:
        return [sentence(f"{move} draws the {KIND[s.taker]} away from {sq(s.leaves)}")]
    if s.opens is not None:
        return [sentence(f"{move} opens the line of {talk.the(s.opens)}")]
    return [sentence(f"{move} {_clears(s, talk)}")] if s.clears is not None else []


def _does(s: ft.Meaning, talk: Talk) -> list[str]:
    """What the man who takes then does for the mate."""
    done = []
    if s.blocks is not None:
        done.append(f"blocks {sq(s.blocks)}")
    if s.leaves is not None:
        done.append(f"no longer answers for {sq(s.leaves)}")
    if s.opens is not None and not done:
        done.append(f"opens the line of {talk.the(s.opens)}")
    return done


def _clears(s: ft.Meaning, talk: Talk) -> str:
    assert s.clears is not None
    square, man = s.clears
    if square is None:
        return f"clears the line of {talk.the(man)}"
    return f"clears {sq(square)} for the {KIND[man.piece.piece_type]}"


def try_fails(s: ft.TryFails, talk: Talk) -> list[str]:
    del talk
    move = eye(s.step)
    if s.defence is None:
        return [sentence(f"{move} is stalemate")]
    head = f"{move} fails to {eye(s.defence)}"
    if s.why == "counter-check":
        return [sentence(f"{head}, a check itself")]
    number = f"{s.defence.number + (not s.defence.white)}{'.' if s.step.white else '…'}"
    meant = f"{number}{s.meant}"
    if s.why == "not possible":
        return [sentence(f"{head}: {meant} is no longer possible")]
    if s.why == "no check":
        return [sentence(f"{head}: then {meant} is no check")]
    assert s.answer is not None
    mover = s.answer.board.piece_type_at(s.answer.move.from_square)
    assert mover is not None
    where = sq(s.answer.move.to_square)
    verb = {"flight": "goes to", "capture": "takes on", "interposition": "can stand on"}
    deed = verb[s.how or "flight"]
    if s.how == "flight" and s.answer.board.is_capture(s.answer.move):
        deed = "takes on"
    return [sentence(f"{head}: after {meant}+ the {KIND[mover]} {deed} {where}")]


def other_king(s: ft.OtherKing, talk: Talk) -> list[str]:
    side = COLOUR[s.colour]
    square, none = ("such a square", "such square") if s.after_luft else ("luft", "luft")
    if s.pawn is not None:
        return [sentence(f"{side}'s own king has {square}: his pawn stands on {sq(s.pawn)}")]
    if s.weak:
        return [
            sentence(f"{side}'s own king stands no better: a rook on his back rank would be mate")
        ]
    return [
        sentence(
            f"{side}'s own king has no {none}: only {talk.all(s.guards)} "
            f"could answer a check on his back rank"
        )
    ]


def either(s: ft.Either, talk: Talk) -> list[str]:
    first, second = s.men
    if first.piece.color != second.piece.color:
        return [
            sentence(
                f"{sqs(s.squares)} is held by {talk.own()} {KIND[first.piece.piece_type]} and "
                f"guarded by {talk.the(second)}: either would do"
            )
        ]
    return [sentence(f"{talk.all(s.men)} both guard {sqs(s.squares)}: either would do")]
