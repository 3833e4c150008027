"""English for two mates that are alike."""

from __future__ import annotations

from collections import Counter

from flightless.words.english.grammar import article, listed, number, sentence
from flightless.words.english.talk import Talk
from flightless.words.facts import alike as at

__all__ = ["differ", "same_mate", "share", "squares_alike"]

_CHECKS = {
    "queen next to the king, straight": "a queen straight next to the king",
    "queen next to the king, diagonally": "a queen diagonally next to the king",
    "queen from afar, straight": "a queen far along a rank or file",
    "queen from afar, diagonally": "a queen far along a diagonal",
    "rook next to the king": "a rook next to the king",
    "rook from afar": "a rook far along a rank or file",
    "bishop next to the king": "a bishop next to the king",
    "bishop from afar": "a bishop far along a diagonal",
    "knight": "a knight",
    "pawn": "a pawn",
}


def same_mate(s: at.SameMate, talk: Talk) -> list[str]:
    del s, talk
    return ["The two are the same mate, turned, slid or with men exchanged."]


def share(s: at.Share, talk: Talk) -> list[str]:
    del talk
    if s.part == "check":
        return [f"Both checks come from {_checks(s.words)}."]
    if s.part == "place":
        return [f"Both kings stand {listed(s.words)}."]
    if s.part == "tandem":
        return [sentence(f"{_men(s.words)} {_do(s.words)} the work in both")]
    if not s.words:
        return ["In neither does a man of the king's own take part."]
    return [sentence(f"in both {_men(s.words)} {_stand(s.words)} in the king's way")]


def differ(s: at.Differ, talk: Talk) -> list[str]:
    del talk
    if s.part == "check":
        first, second = _checks(s.first), _checks(s.second)
        return [f"The first check comes from {first}, the second from {second}."]
    if s.part == "place":
        first, second = listed(s.first), listed(s.second)
        return [f"The first king stands {first}; the second {second}."]
    if s.part == "tandem":
        first, second = _men(s.first), _men(s.second)
        return [sentence(f"{first} {_do(s.first)} the work in the first, {second} in the second")]
    first, second = _men(s.first) or "nobody", _men(s.second) or "nobody"
    verb = _stand(s.first) if s.first else "stands"
    where = "in the king's way"
    return [sentence(f"in the first {first} {verb} {where}, in the second {second}")]


def squares_alike(s: at.SquaresAlike, talk: Talk) -> list[str]:
    del talk
    count = "none" if s.count == 0 else number(s.count)
    are = "is" if s.count == 1 else "are"
    return [sentence(f"{count} of the eight squares round the king {are} answered for alike")]


def _checks(words: tuple[str, ...]) -> str:
    return listed(_CHECKS[word] for word in words)


def _men(words: tuple[str, ...]) -> str:
    """'a rook and two pawns'."""
    counted = Counter(words)
    return listed(
        word if word.startswith("any ") else article(word) if n == 1 else f"{number(n)} {word}s"
        for word, n in counted.items()
    )


def _do(words: tuple[str, ...]) -> str:
    return "does" if len(words) == 1 else "do"


def _stand(words: tuple[str, ...]) -> str:
    return "stands" if len(words) == 1 else "stand"
