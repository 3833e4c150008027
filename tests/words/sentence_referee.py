"""Reads English sentences about a mate and tries what they claim with python-chess alone.

Nothing of the words room or the case is used: a claim is parsed from the text, put on a
board, and judged by the rules.  A sentence that no rule here understands is returned, so
that a test can insist that there is none.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator

import chess

KINDS = {name: kind for kind, name in enumerate(chess.PIECE_NAMES) if name}
_KIND = r"(?:pawn|knight|bishop|rook|queen|king)"
_SQ = r"[a-h][1-8]"
_LONG = [[chess.square(i, i) for i in range(8)], [chess.square(i, 7 - i) for i in range(8)]]


class Referee:
    """Judges the sentences of one account of the mated position `board`."""

    def __init__(self, board: chess.Board) -> None:
        self.board = board
        self.mated = board.turn
        king = board.king(board.turn)
        assert king is not None
        self.king = king
        self.lifted = board.copy(stack=False)
        self.lifted.remove_piece_at(king)
        self.instead = self.king
        self.wrong: list[str] = []
        self.not_understood: list[str] = []

    def judge(self, sentence: str) -> None:
        """Note in `wrong` what is not so."""
        if sentence.startswith(("The pattern: ", "It is also ")):
            return  # the catalogue's words about the pattern, not about this position
        before = len(self.wrong)
        rules = (
            *(self._held, self._guards, self._protects, self._pinned, self._stands),
            *(self._in_the_way, self._not_needed, self._instead, self._saved, self._luft),
            *(self._takes, self._hangs, self._checks, self._other_king, self._either),
        )
        if not sentence.startswith("With "):
            self._men(sentence)  # every man named must be there
        judged = [rule(sentence) for rule in rules]
        if not any(judged):
            self.not_understood.append(sentence)
        for i in range(before, len(self.wrong)):
            self.wrong[i] += f": {sentence!r} in {self.board.fen()}"

    # --- looking at the board ----------------------------------------------------------------

    def _claim(self, holds: bool, what: str) -> None:
        if not holds:
            self.wrong.append(what)

    def _men(self, text: str, colour: chess.Color | None = None) -> list[list[chess.Square]]:
        """For each man named in `text`, the squares where he may be."""
        found = []
        for match in re.finditer(
            rf"(?:White's|Black's) (king)|(?:the|his own|two|three) ({_KIND})s? on "
            rf"({_SQ}(?:(?:, {_SQ})* and {_SQ})?)|the ({_KIND})\b(?! on)",
            text,
            re.IGNORECASE,
        ):
            king, kind, at, short = match.groups()
            if king:
                side = text[match.start()] == "W"
                found.append(list(self.board.pieces(chess.KING, side)))
            elif at:
                found += [[chess.parse_square(s)] for s in re.findall(_SQ, at)]
                self._claim(
                    all(
                        self.board.piece_type_at(chess.parse_square(s)) == KINDS[kind.lower()]
                        for s in re.findall(_SQ, at)
                    ),
                    f"no {kind} on {at}",
                )
            elif short.lower() != "king":
                found.append(
                    [
                        s
                        for s in chess.SQUARES
                        if self.board.piece_type_at(s) == KINDS[short.lower()]
                        and (colour is None or self.board.color_at(s) == colour)
                    ]
                )
        return found

    def _attacks(self, man: Iterable[chess.Square], square: chess.Square) -> bool:
        attackers = self.lifted.attackers(not self.mated, square)
        return any(m in attackers for m in man)

    # --- claims that are looked up -----------------------------------------------------------

    def _held(self, sentence: str) -> bool:
        found = False
        part = next((p for p in sentence.rstrip(".").split("; ") if "held by" in p), "")
        part = part.split("held by his own men: ")[-1]
        for at, kind in re.findall(
            rf"((?:{_SQ}(?:, | and )?)+) (?:(?:is|are) held )?by "
            rf"(?:the king's own|his own|his) ({_KIND}|men)s?",
            part,
        ):
            found = True
            for s in re.findall(_SQ, at):
                piece = self.board.piece_at(chess.parse_square(s))
                self._claim(
                    piece is not None
                    and piece.color == self.mated
                    and kind in ("men", chess.piece_name(piece.piece_type)),
                    f"{s} is not held by a {kind}",
                )
        return found

    def _subjects(self, sentence: str, verb: str) -> Iterator[tuple[str, str]]:
        """(who, whom or what) for every clause with `verb`."""
        sentence = re.sub(r"does (?:two|three) things: (?:it|she|he) ", "", sentence.rstrip("."))
        for clause in re.split(r"; |: | too$|, and (?=the )|\. ", sentence):
            match = re.search(rf"\b{verb}\b ((?:(?! and (?:guards|protects|pins)).)*)", clause)
            if match:
                yield clause[: match.start()], match.group(1)

    def _guards(self, sentence: str) -> bool:
        if " would have saved" in sentence or "What would" in sentence:
            return False
        found = False
        for who, what in self._subjects(sentence, "guards"):
            if "that square" in what or "those squares" in what:
                squares = [s[0] for s in self._men(sentence.split(":")[0])]
            else:
                squares = [chess.parse_square(s) for s in re.findall(_SQ, what)]
            men = self._men(re.split(r" protects | pins ", who)[0], not self.mated)
            found = True
            self._claim(
                bool(men) and bool(squares) and all(self._attacks(men[-1], s) for s in squares),
                f"{who} does not guard",
            )
        return found

    def _protects(self, sentence: str) -> bool:
        if "protect each other" in sentence:
            return True
        found = False
        for who, whom in self._subjects(sentence, "protects"):
            men = self._men(who, not self.mated)
            targets = self._men(whom, not self.mated)
            if re.match(r"(?:it|her|him)\b", whom):
                targets = [list(self.board.checkers())]
            found = True
            self._claim(
                bool(men and targets)
                and all(any(self._attacks(men[-1], t) for t in target) for target in targets),
                f"{who} does not protect {whom}",
            )
        return found

    def _pinned(self, sentence: str) -> bool:
        match = re.match(rf"The {_KIND} on ({_SQ}) is pinned", sentence)
        if match:
            square = chess.parse_square(match.group(1))
            self._claim(self.board.is_pinned(self.mated, square), "not pinned")
        return bool(match)

    def _stands(self, sentence: str) -> bool:
        match = re.search(
            rf"[oO]n ({_SQ}) the ({_KIND}) stands (before|next to) the king", sentence
        )
        if match:
            square = chess.parse_square(match.group(1))
            self._claim(
                square in self.board.checkers()
                and self.board.piece_type_at(square) == KINDS[match.group(2)]
                and chess.square_distance(square, self.king) == 1,
                "no such checker",
            )
        return bool(match)

    def _checks(self, sentence: str) -> bool:
        match = re.search(r"(.*)\b(?:checks|both check)\b", sentence)
        if match and "has no answer" not in sentence:
            clause = match.group(1).split(" mate ")[-1]
            for man in self._men(clause, not self.mated):
                self._claim(any(m in self.board.checkers() for m in man), "does not check")
            return True
        return sentence.startswith(("Nothing ", "It is mate"))

    def _hangs(self, sentence: str) -> bool:
        match = re.match(rf"({_SQ}) hangs on one guard only, (.*)\.", sentence)
        if match:
            guards = self.lifted.attackers(not self.mated, chess.parse_square(match.group(1)))
            (man,) = self._men(match.group(2), not self.mated)
            self._claim(len(guards) == 1 and set(guards) <= set(man), "not one guard only")
            return True
        return bool(
            re.search(
                r" (?:does|do) (?:it alone|the work|it, with .* in the king's way)\.$", sentence
            )
        )

    def _either(self, sentence: str) -> bool:
        match = re.match(rf"({_SQ}) is held by .* and guarded by (.*): either would do", sentence)
        if match:
            square = chess.parse_square(match[1])
            (guard,) = self._men(match[2], not self.mated)
            self._claim(self._attacks(guard, square), "not guarded")
            self._claim(self._without(square).is_checkmate(), "the blocker is needed")
            return True
        match = re.match(rf"(.*) both guard ({_SQ}.*): either would do", sentence)
        if match:
            for man in self._men(match[1], not self.mated):
                for square in re.findall(_SQ, match[2]):
                    self._claim(self._attacks(man, chess.parse_square(square)), "not guarded")
        return bool(match)

    def _other_king(self, sentence: str) -> bool:
        """The mating side's king on his back rank, with a rook put there for a try."""
        match = re.match(r"(White|Black)'s own king (has|stands) ", sentence)
        if not match:
            return False
        side = match[1] == "White"
        king = self.board.king(side)
        assert king is not None
        self._claim(side != self.mated, "not the mating side")
        pawn = re.search(rf"his pawn stands on ({_SQ})", sentence)
        if pawn:
            at = chess.parse_square(pawn[1])
            self._claim(self.board.piece_at(at) == chess.Piece(chess.PAWN, side), "no pawn")
        if "would be mate" in sentence:
            rank = chess.square_rank(king)
            tries = [chess.square(file, rank) for file in range(8)]
            self._claim(any(self._mated_by_rook(side, s) for s in tries), "a rook does not mate")
        return True

    def _mated_by_rook(self, side: chess.Color, square: chess.Square) -> bool:
        if self.board.piece_at(square):
            return False
        more = self.board.copy(stack=False)
        more.turn = side
        more.castling_rights = chess.BB_EMPTY
        more.set_piece_at(square, chess.Piece(chess.ROOK, not side))
        return more.is_checkmate()

    # --- claims that are tried ---------------------------------------------------------------

    def _without(self, square: chess.Square) -> chess.Board:
        left = self.board.copy(stack=False)
        left.remove_piece_at(square)
        return left

    def _in_the_way(self, sentence: str) -> bool:
        match = re.match(r"(.*) stands? in his way: ", sentence)
        if match:
            men = self._men(match.group(1), self.mated)
            if sentence.startswith("All "):
                men = [
                    [s]
                    for s in chess.SquareSet(chess.BB_KING_ATTACKS[self.king])
                    if self.board.color_at(s) == self.mated
                ]
            for (man,) in men:
                self._claim(
                    chess.Move(self.king, man) in self._without(man).legal_moves,
                    f"he does not get out over {chess.square_name(man)}",
                )
            return True
        match = re.match(
            rf"The {_KIND} on ({_SQ}) shuts off the {_KIND} on ({_SQ}): .* on ({_SQ})\.", sentence
        )
        if match:
            shutter, defender, target = map(chess.parse_square, match.groups())
            moves = self._without(shutter).legal_moves
            self._claim(chess.Move(defender, target) in moves, "he does not shut him off")
        return bool(match)

    def _takes(self, sentence: str) -> bool:
        return bool(re.match(rf"The {_KIND} on {_SQ} could (?:take|stand on)", sentence))

    def _not_needed(self, sentence: str) -> bool:
        match = re.match(r"(?:Even )?(.*?) (?:is|are) not needed", sentence)
        if match:
            for (man,) in self._men(match.group(1)):
                self._claim(
                    self._without(man).is_checkmate(), f"{chess.square_name(man)} is needed"
                )
        return bool(match)

    @staticmethod
    def _places(text: str) -> list[chess.Square]:
        """The squares that are named, ranges with all between."""
        squares = []
        for a, b in re.findall(rf"from ({_SQ}) to ({_SQ})", text):
            first, last = chess.parse_square(a), chess.parse_square(b)
            squares += [first, last, *chess.SquareSet(chess.between(first, last))]
        rest = re.sub(rf"from {_SQ} to {_SQ}", "", text)
        return squares + [chess.parse_square(s) for s in re.findall(_SQ, rest)]

    def _would_do(self, gone: chess.Square, kind: int, text: str) -> None:
        places = self._places(text)
        left = self._without(gone)
        piece = chess.Piece(kind, not self.mated)
        if "long diagonal" in text:
            diagonals = [d for d in _LONG if sum(self._mate_with(left, piece, s) for s in d) >= 4]
            self._claim(bool(diagonals), "not on the long diagonal")
        for square in places:
            same = square == gone and kind == self.board.piece_type_at(gone)
            self._claim(
                same or self._mate_with(left, piece, square),
                f"a {chess.piece_name(kind)} on {chess.square_name(square)} would not do",
            )

    @staticmethod
    def _mate_with(left: chess.Board, piece: chess.Piece, square: chess.Square) -> bool:
        if left.piece_at(square):
            return False
        more = left.copy(stack=False)
        more.set_piece_at(square, piece)
        return more.is_checkmate() and not more.was_into_check()

    def _instead(self, sentence: str) -> bool:
        match = re.match(
            rf"(.*?) would do (?:as well as|instead of) (the {_KIND}(?: on {_SQ})?)(.*)", sentence
        )
        if match:
            head, man, rest = match.groups()
            self.instead = self._real(man)
            for kind in re.findall(rf"\ban? ({_KIND})\b|or a ({_KIND})", head.lower()):
                name = kind[0] or kind[1]
                places = head if re.search(_SQ, head) else chess.square_name(self.instead)
                self._would_do(self.instead, KINDS[name], places)
            self._also(rest)
            return True
        if sentence.startswith("So would an") or sentence.startswith("So would a "):
            if "in the way of" in sentence:
                return False
            self._also(sentence)
            return True
        match = re.match(rf"(The {_KIND}(?: on {_SQ})?) could also stand (.*)", sentence)
        if match:
            gone = self._real(match.group(1))
            kind = self.board.piece_type_at(gone)
            assert kind is not None
            self._would_do(gone, kind, match.group(2))
        return bool(match)

    def _also(self, rest: str) -> None:
        own = self.board.piece_type_at(self.instead)
        assert own is not None
        kinds = list(re.finditer(rf"\ban? ({_KIND})\b", rest))
        if not kinds and rest.strip(" .,"):
            self._would_do(self.instead, own, rest)
        for i, kind in enumerate(kinds):
            end = kinds[i + 1].start() if i + 1 < len(kinds) else len(rest)
            self._would_do(self.instead, KINDS[kind.group(1)], rest[kind.end() : end])

    def _real(self, man: str) -> chess.Square:
        """The mating man who is meant, among those whose removal ends the mate."""
        (squares,) = self._men(man, not self.mated)
        needed = [s for s in squares if not self._without(s).is_checkmate()]
        assert len(needed) == 1, (man, needed)
        return needed[0]

    def _saved(self, sentence: str) -> bool:
        told = sentence.startswith("What would have saved him") or "saved him as well" in sentence
        if told:
            for kind, square in re.findall(rf"\ba (man|{_KIND}) on ({_SQ})", sentence, re.I):
                kinds = KINDS.values() if kind.lower() == "man" else [KINDS[kind.lower()]]
                for k in kinds:
                    at = chess.parse_square(square)
                    if k == chess.KING or (k == chess.PAWN and chess.square_rank(at) in (0, 7)):
                        continue
                    more = self.board.copy(stack=False)
                    self._claim(more.piece_at(at) is None, f"{square} is not empty")
                    more.set_piece_at(at, chess.Piece(k, self.mated))
                    self._claim(
                        not more.is_checkmate() and not more.was_into_check(),
                        f"a {kind} on {square} would not have saved him",
                    )
            return True
        match = re.match(r"So would a man on (\S+), in the way", sentence)
        if match:
            return self._saved(f"What would have saved him: a man on {match.group(1)}")
        match = re.match(rf"A (dark|light)-squared bishop could stand on ({_SQ})\.", sentence)
        if match:
            return self._saved(f"What would have saved him: a bishop on {match.group(2)}")
        return sentence.startswith("What is wrong")

    def _luft(self, sentence: str) -> bool:
        match = re.match(
            rf"With a pawn on ({_SQ}) instead of ({_SQ}) the king goes to ({_SQ})\.", sentence
        )
        if match:
            to, frm, flight = map(chess.parse_square, match.groups())
        else:
            match = re.match(
                rf"With the pawn a step ahead, on ({_SQ}), the king gets out\.", sentence
            )
            if not match:
                return False
            to = chess.parse_square(match.group(1))
            frm = flight = to + (8 if self.mated == chess.BLACK else -8)
        changed = self._without(frm)
        self._claim(changed.piece_at(to) is None, "the square before the pawn is not empty")
        changed.set_piece_at(to, chess.Piece(chess.PAWN, self.mated))
        self._claim(chess.Move(self.king, flight) in changed.legal_moves, "no luft")
        return True
