"""The solution page of a composed problem, in the notation of problem literature.

Stipulation and men, set play, tries (?), key (!) with its threat in brackets, variations
grouped by the answer, duals, cooks.  What is in the data is set here and nothing is judged;
letters and the few words come in English or German.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import chess

from flightless.cases.problem import Play, Problem, Refuted, Variation
from flightless.errors import UsageError
from flightless.words.english.grammar import listed, number
from flightless.words.german.grammar import LETTERS as GERMAN_LETTERS
from flightless.words.german.grammar import number as german_number
from flightless.words.notation import eye, steps
from flightless.words.phrasebook import LANGUAGES

__all__ = ["problem_page"]

_ANY = "~"
_MANY = 3
"""So many moves of one man that are met alike are put as 'any move' of his."""
_SHOWN = 4
"""Of so many keys the play is shown; a position with more is no problem, and the page long."""
_INLINE = 2
"""So many lines of a threat are written out behind the key."""


@dataclass(frozen=True, slots=True)
class _Words:
    """The words of the page in one language."""

    black_to_move: str
    set_play: str
    complete_block: str
    tries: str
    key: str
    keys: str
    more_keys: str
    zugzwang: str
    dual: str
    minor: str
    unmet: str
    left_out: Mapping[str, str]


_ENGLISH = _Words(
    black_to_move="Black to move",
    set_play="Set play",
    complete_block="Set play, complete block",
    tries="Tries",
    key="Key",
    keys="Solution {n}",
    more_keys="Other solutions whose play is not shown: {n}.",
    zugzwang="zugzwang",
    dual="dual",
    minor="minor dual",
    unmet="More mates where the threat is not met (minor)",
    left_out={
        "set play": "set play",
        "tries": "tries",
        "duals": "duals",
        "later variations": "variations after the second move",
        "keys": "perhaps more first moves",
        "threats": "perhaps a threat",
        "shorter": "perhaps a shorter mate",
    },
)
_GERMAN = _Words(
    black_to_move="Schwarz am Zug",
    set_play="Satzspiel",
    complete_block="Satzspiel, vollständiger Block",
    tries="Verführungen",
    key="Schlüssel",
    keys="Lösung {n}",
    more_keys="Weitere Lösungen, deren Spiel nicht gezeigt ist: {n}.",
    zugzwang="Zugzwang",
    dual="Dual",
    minor="kleiner Dual",
    unmet="Weitere Matts, wo die Drohung nicht pariert ist (klein)",
    left_out={
        "set play": "Satzspiel",
        "tries": "Verführungen",
        "duals": "Duale",
        "later variations": "Varianten nach dem zweiten Zug",
        "keys": "vielleicht weitere erste Züge",
        "threats": "vielleicht eine Drohung",
        "shorter": "vielleicht ein kürzeres Matt",
    },
)


def problem_page(problem: Problem, language: str = "en") -> tuple[str, ...]:
    """The lines of the page, headings and empty lines included.

    Moves are SAN with the letters of the language; mate is '#'.  Raises `UsageError` for a
    language without words.
    """
    if language not in LANGUAGES:
        known = listed(LANGUAGES)
        raise UsageError(f"there are no words for language {language!r}, only for {known}")
    return tuple(_Page(problem, language).lines())


class _Page:
    def __init__(self, problem: Problem, language: str) -> None:
        self.problem = problem
        self.german = language == "de"
        self.words = _GERMAN if self.german else _ENGLISH
        self.letters = GERMAN_LETTERS if self.german else None
        self.board = problem.board
        self.board.fullmove_number = 1

    def lines(self) -> list[str]:
        problem = self.problem
        out = [self.heading()]
        statement = self.statement()
        if statement:
            out += ["", statement]
        if problem.moves is None:
            return out
        if problem.set_play:
            title = self.words.complete_block if problem.complete_block else self.words.set_play
            out += ["", title]
            passed = _after(self.board, chess.Move.null())
            out += self.variations(passed, problem.set_play, "  ")
        if problem.tries:
            out += ["", self.words.tries, *(f"  {line}" for line in self.tries(problem.tries))]
        for n, key in enumerate(problem.keys[:_SHOWN], 1):
            single = len(problem.keys) == 1
            out += ["", self.words.key if single else self.words.keys.format(n=n)]
            out += self.key(key)
        more = len(problem.keys) - _SHOWN
        if more > 0:
            out += ["", self.words.more_keys.format(n=self.number(more))]
        if problem.left_out:
            out += ["", self.left_out()]
        return out

    # -- what is said in words -------------------------------------------------------------

    def heading(self) -> str:
        white, black = self.problem.men
        length = self.problem.stipulated or self.problem.moves
        mover = "" if self.board.turn else f"  {self.words.black_to_move}"
        stipulation = "" if length is None else f"#{length}  "
        return f"{stipulation}({white}+{black}){mover}"

    def statement(self) -> str:
        problem = self.problem
        claimed, found = problem.stipulated, problem.moves
        n = self.number
        match problem.verdict:
            case "sound":
                return ""
            case "undecided" if found is None:
                return (
                    "Nicht entschieden: das Budget war vorher verbraucht."
                    if self.german
                    else "Not decided: the budget was spent first."
                )
            case "undecided":
                return ""
            case "short solution":
                return (
                    f"Kurzlösung: gefordert ist Matt in {n(claimed)}, es geht in {n(found)}."
                    if self.german
                    else f"Short solution: mate in {n(claimed)} is stipulated, "
                    f"and there is one in {n(found)}."
                )
            case "no solution":
                length = n(claimed or problem.within)
                if self.german:
                    more = "" if found is None else f" Es gibt eines in {n(found)}."
                    return f"Keine Lösung: kein Matt in {length} Zügen.{more}"
                more = "" if found is None else f" There is one in {n(found)}."
                moves = "move" if length == n(1) else "moves"
                return f"No solution: there is no mate within {length} {moves}.{more}"
            case "cooked":
                firsts = listed(
                    (self.move(self.board, key.move) for key in problem.keys),
                    "und" if self.german else "and",
                )
                count = n(len(problem.keys))
                if self.german:
                    return f"Nebenlösig: {count} erste Züge lösen, {firsts}."
                return f"Cooked: {count} first moves solve it, {firsts}."

    def number(self, n: int | None) -> str:
        return german_number(n or 0) if self.german else number(n or 0)

    def left_out(self) -> str:
        what = [self.words.left_out[name] for name in self.problem.left_out]
        if self.german:
            return f"Nicht gezeigt: {listed(what, 'und')}."
        return f"Left out: {listed(what)}."

    # -- moves -----------------------------------------------------------------------------

    def move(self, board: chess.Board, move: chess.Move, *, numbered: bool = True) -> str:
        step = steps(board, [move])[0]
        return eye(step, numbered=numbered, letters=self.letters, mate_word="#")

    def reply(self, board: chess.Board, move: chess.Move) -> str:
        """A move that stands right behind the other side's: Black's has no number then."""
        return self.move(board, move, numbered=board.turn)

    def key(self, play: Play) -> list[str]:
        first = self.move(self.board, play.move)
        if play.moves == 1:
            return [f"  {first}"]
        after = _after(self.board, play.move)
        out = [f"  {first}!{self.aim(after, play, '  ')}"]
        out += self.variations(after, play.variations, "  ")
        spare = self.unmet(play)
        return [*out, f"  {self.words.unmet}:", *spare] if spare else out

    def aim(self, after: chess.Board, play: Play, gap: str = " ") -> str:
        """The threat in brackets, or the word for zugzwang; nothing after a check."""
        if play.threats:
            passed = _after(after, chess.Move.null())
            return f"{gap}({', '.join(self.threat(passed, one) for one in play.threats)})"
        return f"{gap}{self.words.zugzwang}" if play.is_zugzwang else ""

    def threat(self, passed: chess.Board, play: Play) -> str:
        first = self.move(passed, play.move)
        if play.moves == 1 or not play.variations or len(play.variations) > _INLINE:
            return first
        after = _after(passed, play.move)
        lines = []
        for at, variation in enumerate(play.variations):
            then = _after(after, variation.defences[0])
            replies = self.defences(after, variation, play.variations, numbered=at > 0)
            mate = self.reply(then, variation.play.move)
            lines.append(f"{replies} {mate}")
        return f"{first} {'; '.join(lines)}"

    def tries(self, tries: Sequence[Refuted]) -> list[str]:
        """A line for each; those without a threat that fail to the same reply stand together."""
        lines: dict[object, list[str]] = {}
        ends: dict[object, str] = {}
        for one in tries:
            after = _after(self.board, one.move)
            head = f"{self.move(self.board, one.move)}?"
            end = f"  {self.move(after, one.refutation)}!"
            if one.threats:
                passed = _after(after, chess.Move.null())
                threats = ", ".join(self.move(passed, threat) for threat in one.threats)
                head += f" ({threats})"
            key = one.move if one.threats else end
            lines.setdefault(key, []).append(head)
            ends[key] = end
        return [f"{', '.join(heads)}{ends[key]}" for key, heads in lines.items()]

    def variations(
        self, board: chess.Board, variations: Sequence[Variation], indent: str
    ) -> list[str]:
        out = []
        for variation in variations:
            head = f"{indent}{self.defences(board, variation, variations)}  "
            then = _after(board, variation.defences[0])
            out += self.answer(then, variation, head, indent)
        return out

    def answer(self, board: chess.Board, variation: Variation, head: str, indent: str) -> list[str]:
        """A variation's continuation behind its defences, with what follows below it."""
        play = variation.play
        after = _after(board, play.move)
        text = head + self.reply(board, play.move) + self.aim(after, play)
        for dual in variation.duals:
            text += f" / {self.reply(board, dual)}"
        if variation.kind is not None:
            text += f"  [{self.words.dual if variation.kind == 'dual' else self.words.minor}]"
        if len(play.variations) == 1 and not play.threats and not variation.duals:
            below = play.variations[0]
            replies = self.defences(after, below, play.variations, numbered=play.is_zugzwang)
            then = _after(after, below.defences[0])
            return self.answer(then, below, f"{text} {replies} ", indent)
        return [text, *self.variations(after, play.variations, indent + "      ")]

    def unmet(self, play: Play) -> list[str]:
        """Mates beside the threat, after replies that do not meet it."""
        after = _after(self.board, play.move)
        threats = {threat.move for threat in play.threats}
        out = []
        for variation in play.idle:
            then = _after(after, variation.defences[0])
            more = [move for move in variation.continuations if move not in threats]
            if more:
                replies = self.defences(after, variation, (*play.variations, *play.idle))
                out.append(f"    {replies}  {', '.join(self.move(then, move) for move in more)}")
        return out

    def defences(
        self,
        board: chess.Board,
        variation: Variation,
        among: Sequence[Variation],
        *,
        numbered: bool = True,
    ) -> str:
        """The replies of a variation: '1…Kf8, Kh8', and '1…R~' for a man's other moves."""
        by_man: dict[int, list[chess.Move]] = {}
        for reply in variation.defences:
            by_man.setdefault(reply.from_square, []).append(reply)
        texts = []
        for origin, moves in by_man.items():
            if len(moves) >= _MANY and _stands_for_rest(board, origin, moves, among):
                texts.append(_symbol(board, origin, self.letters) + _ANY)
            else:
                texts += [self.move(board, move, numbered=False) for move in moves]
        if board.turn or numbered:
            texts[0] = f"{board.fullmove_number}{'.' if board.turn else '…'}{texts[0]}"
        return ", ".join(texts)


def _stands_for_rest(
    board: chess.Board, origin: int, moves: list[chess.Move], among: Sequence[Variation]
) -> bool:
    """Whether 'any move' of a man may stand for these: all his moves are told, and no other
    variation has as many of them."""
    told = [[move for move in v.defences if move.from_square == origin] for v in among]
    legal = board.generate_legal_moves(from_mask=chess.BB_SQUARES[origin])
    if set(legal) != {move for some in told for move in some}:
        return False
    counts = [len(some) for some in told]
    return max(counts) == len(moves) and counts.count(len(moves)) == 1


def _symbol(board: chess.Board, square: int, letters: Mapping[str, str] | None) -> str:
    """A man's letter, with his square if there are more of his kind; a pawn's square alone."""
    man = board.piece_at(square)
    assert man is not None
    name = chess.square_name(square)
    if man.piece_type == chess.PAWN:
        return name
    letter = man.symbol().upper()
    letter = letters.get(letter, letter) if letters else letter
    return letter + (name if len(board.pieces(man.piece_type, man.color)) > 1 else "")


def _after(board: chess.Board, move: chess.Move) -> chess.Board:
    after = board.copy(stack=False)
    after.push(move)
    return after
