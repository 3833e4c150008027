"""German for the further findings: what moves are for, tries, the other king, shared duties,
and two mates that are alike."""

from __future__ import annotations

from collections import Counter

import chess

from flightless.words.facts import alike as at
from flightless.words.facts import further as ft
from flightless.words.german.grammar import (
    LETTERS,
    SIDE,
    a,
    eye,
    his,
    listed,
    name,
    number,
    sentence,
    sq,
    sqs,
    the,
)
from flightless.words.german.talk import Talk

__all__ = [
    "differ",
    "either",
    "meaning",
    "other_king",
    "same_mate",
    "share",
    "squares_alike",
    "try_fails",
]


def meaning(s: ft.Meaning, talk: Talk) -> list[str]:
    move = eye(s.step)
    if s.zugzwang:
        side = SIDE[not s.step.white]
        return [f"{move} droht nichts: {side} verliert, weil {side} ziehen muss."]
    if s.gives is None:
        return _plain(s, move, talk)
    gift = f"{move} {'gibt' if s.forced else 'bietet'} {the(s.gives, 'acc')}"
    if s.gains is not None:
        gift += f" für {the(s.gains, 'acc')}"
    if not s.forced:
        gift += " an"
    does = _does(s, talk)
    if s.king_to is not None:
        text = f"{gift}, um den König nach {sq(s.king_to)} zu ziehen"
    elif does and s.taker is not None:
        article = the(s.taker).split()[0].capitalize()
        text = f"{gift}: {article} schlagende {name(s.taker)} {listed(does)}"
    else:
        text = gift
    if s.clears is not None and not does:
        text += f"{',' if s.king_to is not None else ''} und {_clears(s, talk)}"
    return [sentence(text)]


def _plain(s: ft.Meaning, move: str, talk: Talk) -> list[str]:
    if s.becomes is not None:
        return [sentence(f"{move}: Der Bauer wird {a(s.becomes)}, keine Dame")]
    if s.blocks is not None and s.taker is not None:
        return [sentence(f"{move} zwingt {the(s.taker, 'acc')}, {sq(s.blocks)} zu verstellen")]
    if s.leaves is not None and s.taker is not None:
        return [sentence(f"{move} lenkt {the(s.taker, 'acc')} von {sq(s.leaves)} ab")]
    if s.opens is not None:
        return [sentence(f"{move} öffnet die Linie {talk.the(s.opens, 'gen')}")]
    return [sentence(f"{move} {_clears(s, talk)}")] if s.clears is not None else []


def _does(s: ft.Meaning, talk: Talk) -> list[str]:
    done = []
    if s.blocks is not None:
        done.append(f"verstellt {sq(s.blocks)}")
    if s.leaves is not None:
        done.append(f"sorgt nicht mehr für {sq(s.leaves)}")
    if s.opens is not None and not done:
        done.append(f"öffnet die Linie {talk.the(s.opens, 'gen')}")
    return done


def _clears(s: ft.Meaning, talk: Talk) -> str:
    assert s.clears is not None
    square, man = s.clears
    if square is None:
        return f"räumt die Linie {talk.the(man, 'gen')}"
    return f"räumt {sq(square)} für {the(man.piece.piece_type, 'acc')}"


def try_fails(s: ft.TryFails, talk: Talk) -> list[str]:
    del talk
    move = eye(s.step)
    if s.defence is None:
        return [sentence(f"{move} ist patt")]
    head = f"{move} scheitert an {eye(s.defence)}"
    if s.why == "counter-check":
        return [sentence(f"{head}, selbst ein Schach")]
    number_ = f"{s.defence.number + (not s.defence.white)}{'.' if s.step.white else '…'}"
    meant = number_ + "".join(LETTERS.get(c, c) for c in s.meant)
    if s.why == "not possible":
        return [sentence(f"{head}: {meant} geht dann nicht mehr")]
    if s.why == "no check":
        return [sentence(f"{head}: Dann ist {meant} kein Schach")]
    assert s.answer is not None
    mover = s.answer.board.piece_type_at(s.answer.move.from_square)
    assert mover is not None
    where = sq(s.answer.move.to_square)
    takes = s.answer.board.is_capture(s.answer.move)
    deed = f"schlägt {the(mover)} auf" if takes else f"geht {the(mover)} nach"
    return [sentence(f"{head}: Nach {meant}+ {deed} {where}")]


def other_king(s: ft.OtherKing, talk: Talk) -> list[str]:
    king = "der weiße König" if s.colour else "der schwarze König"
    square = "ein solches Feld" if s.after_luft else "ein Luftloch"
    if s.pawn is not None:
        return [sentence(f"{king} selbst hat {square}: Sein Bauer steht auf {sq(s.pawn)}")]
    if s.weak:
        return [sentence(f"{king} steht nicht besser: Ein Turm auf seiner Grundreihe wäre matt")]
    could = "könnten" if len(s.guards) > 1 else "könnte"
    men = talk.all(s.guards)
    return [
        sentence(f"{king} selbst hat k{square}: Nur {men} {could} auf ein Schach dort antworten")
    ]


def either(s: ft.Either, talk: Talk) -> list[str]:
    first, second = s.men
    if first.piece.color != second.piece.color:
        own = his(first.piece.piece_type, False, "dat", own=True)
        by = talk.the(second, "dat")
        return [
            sentence(
                f"{sqs(s.squares)} ist von {own} besetzt und von {by} beherrscht: "
                f"Eines davon genügt"
            )
        ]
    return [sentence(f"{talk.all(s.men)} beherrschen beide {sqs(s.squares)}: Einer genügt")]


# --- alike ---------------------------------------------------------------------------------

_KINDS = {
    "queen": chess.QUEEN,
    "rook": chess.ROOK,
    "bishop": chess.BISHOP,
    "knight": chess.KNIGHT,
    "pawn": chess.PAWN,
    "king": chess.KING,
}
_CHECKS = {
    "queen next to the king, straight": "einer Dame gerade neben dem König",
    "queen next to the king, diagonally": "einer Dame schräg neben dem König",
    "queen from afar, straight": "einer Dame aus der Ferne auf Reihe oder Linie",
    "queen from afar, diagonally": "einer Dame aus der Ferne auf einer Diagonale",
    "rook next to the king": "einem Turm neben dem König",
    "rook from afar": "einem Turm aus der Ferne",
    "bishop next to the king": "einem Läufer neben dem König",
    "bishop from afar": "einem Läufer aus der Ferne",
    "knight": "einem Springer",
    "pawn": "einem Bauern",
}
_PLACES = {
    "off the edge": "nicht am Rand",
    "on the edge, checked along it": "am Rand, mit dem Schach am Rand entlang",
    "on the edge, checked from the board's side": "am Rand, mit dem Schach vom Brett her",
    "on the edge, checked from a diagonal": "am Rand, mit dem Schach auf einer Diagonale",
    "on the edge, checked by a knight": "am Rand, mit dem Schach eines Springers",
    "in a corner, checked along the edge": "in der Ecke, mit dem Schach am Rand entlang",
    "in a corner, checked from the diagonal": "in der Ecke, mit dem Schach auf der Diagonale",
    "in a corner, checked by a knight": "in der Ecke, mit dem Schach eines Springers",
}
_OTHERS = {
    "any supporter": "ein beliebiger Helfer",
    "minor piece": "eine Leichtfigur",
    "heavy piece": "eine Schwerfigur",
}
_MANY = {"minor piece": "Leichtfiguren", "heavy piece": "Schwerfiguren", "pawn": "Bauern"}


def same_mate(s: at.SameMate, talk: Talk) -> list[str]:
    del s, talk
    return ["Es ist beide Male dasselbe Matt, gedreht, verschoben oder mit anderen Helfern."]


def share(s: at.Share, talk: Talk) -> list[str]:
    del talk
    if s.part == "check":
        return [f"Beide Schachs kommen von {listed(_CHECKS[w] for w in s.words)}."]
    if s.part == "place":
        return [f"Beide Könige stehen {listed(_PLACES[w] for w in s.words)}."]
    if s.part == "tandem":
        return [sentence(f"beide Male {_do(s.words)} {_men(s.words)} die Arbeit")]
    if not s.words:
        return ["Beide Male steht kein eigener Stein im Weg."]
    return [sentence(f"beide Male {_stand(s.words)} {_men(s.words)} dem König im Weg")]


def differ(s: at.Differ, talk: Talk) -> list[str]:
    del talk
    if s.part == "check":
        first, second = (listed(_CHECKS[w] for w in words) for words in (s.first, s.second))
        return [f"Das erste Schach kommt von {first}, das zweite von {second}."]
    if s.part == "place":
        first, second = (listed(_PLACES[w] for w in words) for words in (s.first, s.second))
        return [f"Der erste König steht {first}; der zweite {second}."]
    first, second = _men(s.first) or "niemand", _men(s.second) or "niemand"
    if s.part == "tandem":
        return [f"Im ersten {_do(s.first)} {first} die Arbeit, im zweiten {second}."]
    return [f"Im ersten {_stand(s.first)} {first} dem König im Weg, im zweiten {second}."]


def squares_alike(s: at.SquaresAlike, talk: Talk) -> list[str]:
    del talk
    count = "keines" if s.count == 0 else "eines" if s.count == 1 else number(s.count)
    are = "ist" if s.count < 2 else "sind"
    return [sentence(f"{count} der acht Felder um den König {are} gleich versorgt")]


def _men(words: tuple[str, ...]) -> str:
    out = []
    for word, n in Counter(words).items():
        if n > 1:
            out.append(f"{number(n)} {_MANY.get(word) or name(_KINDS[word])}")
        else:
            out.append(_OTHERS.get(word) or a(_KINDS[word]))
    return listed(out)


def _do(words: tuple[str, ...]) -> str:
    return "leistet" if len(words) == 1 else "leisten"


def _stand(words: tuple[str, ...]) -> str:
    return "stehen" if len(words) > 1 else "steht"
