"""What a move of a forced line is: check, sacrifice, decoy, deflection, and so on.

Each nature is decided by a definition that can be tested on the board, stated at the function
that decides it.  Where a nature depends on what follows, it is looked for in the line and
after each reply that takes an offered man, played on as the proof has it.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

import chess

from flightless.cases.answers import how_it_answers
from flightless.cases.build import case_of
from flightless.cases.case import Case
from flightless.cases.material import Offer
from flightless.certify import position_key
from flightless.prove.proof import Proof, Threat

__all__ = ["Kind", "Nature", "Situation", "continue_line", "natures_of"]

Kind = Literal[
    "mate",
    "check",
    "discovered check",
    "double check",
    "capture",
    "promotion",
    "castling",
    "sacrifice",
    "decoy",
    "deflection",
    "line opening",
    "clearance",
    "self-block",
    "interposition captured",
    "only reply",
    "quiet",
    "threat",
    "zugzwang",
]


@dataclass(frozen=True, slots=True)
class Nature:
    """One thing that a move is, and the evidence.

    What the fields hold depends on `kind`; those not named are None.

    - mate: nothing.
    - check, double check: `man` the checker who moved, if he checks.
    - discovered check: `man` the checker whose line was opened.
    - capture: `square` of the man taken.  promotion: `value` the new kind.  castling: nothing.
    - sacrifice: `man` is offered (his square after the move), `move` the capture that wins
      most, `value` what it wins in pawns.
    - decoy: `move` the capture, `man` where the capturing man came from, `square` where the
      mate needs him.
    - deflection: `move` the reply, `man` where he came from, `square` where he would have been
      needed, to take or to stand between.
    - line opening: `square` is open now, `man` the line man who uses the line over it, `move`
      the reply that opens it (None if this move takes the man there).
    - clearance: `square` is free now, `man` who comes to it or uses a line over it.  A man who
      moves is named by the square he starts from, one who stands by where he stands in the mate.
    - self-block: `move` the reply, `man` where he came from, `square` that he blocks in the
      mate.
    - interposition captured: `square` of the man who stood between.
    - only reply: `move`.
    - quiet: neither check nor capture nor promotion.
    - threat: `move` begins what is threatened, `value` in how many moves it mates.
    - zugzwang: no check, and a pass of the defender would not be answered by mate as soon.
    """

    kind: Kind
    man: chess.Square | None = None
    square: chess.Square | None = None
    move: chess.Move | None = None
    value: int | None = None


@dataclass(frozen=True, slots=True)
class Situation:
    """A move of the mating side in its line: the position before it, the line after it, the
    men it offers, the reply before it with the position that was made in (None at the start),
    and what the move threatens if it is quiet."""

    proof: Proof
    board: chess.Board
    move: chess.Move
    rest: tuple[chess.Move, ...]
    offers: tuple[Offer, ...]
    last: tuple[chess.Board, chess.Move] | None = None
    threat: Threat | None = None

    @property
    def mate_in(self) -> int:
        """Moves to mate, this one included."""
        return len(self.rest) // 2 + 1


@dataclass(frozen=True, slots=True)
class _Course:
    """A reply, the moves that follow it, the positions after each, and the mate at the end."""

    before: chess.Board
    reply: chess.Move
    follow: chess.Move
    after_follow: chess.Board
    later: tuple[chess.Move, ...]
    mate: Case


def natures_of(at: Situation) -> tuple[Nature, ...]:
    """Everything that the move is."""
    after = at.board.copy(stack=1)
    after.push(at.move)
    found = [*_at_once(at.board, at.move, after), *_interposer_taken(at)]
    found.extend(
        Nature("sacrifice", offer.man, move=offer.captures[0], value=offer.net)
        for offer in at.offers
    )
    replies = list(after.legal_moves)
    if len(replies) == 1:
        found.append(Nature("only reply", move=replies[0]))
    found.extend(_quiet(at, found))
    accepted = [capture for offer in at.offers for capture in offer.captures]
    for course in _courses(at, after, accepted):
        found.extend(_decoy(course, accepted))
        found.extend(_deflection(course, forced=bool(accepted) or after.is_check()))
        found.extend(_self_block(course))
        found.extend(_line_opening(course, at))
        found.extend(_clearance(course, at))
    return tuple(_once(found))


def _once(natures: list[Nature]) -> Iterator[Nature]:
    """Each nature with each evidence once, the first kept."""
    seen = set()
    for nature in natures:
        key = (nature.kind, nature.man, nature.square)
        if key not in seen:
            seen.add(key)
            yield nature


def _at_once(board: chess.Board, move: chess.Move, after: chess.Board) -> Iterator[Nature]:
    """What can be seen from the move alone.

    A check is discovered if a checker is not the man who moved (castling moves two men).
    """
    arrived = move.to_square
    if board.is_castling(move):
        yield Nature("castling")
        file = 5 if board.is_kingside_castling(move) else 3
        arrived = chess.square(file, chess.square_rank(move.to_square))
    if after.is_checkmate():
        yield Nature("mate")
    checkers = list(chess.scan_forward(after.checkers_mask()))
    if checkers:
        yield Nature("check", arrived if arrived in checkers else None)
    for checker in checkers:
        if checker != arrived:
            yield Nature("discovered check", checker)
    if len(checkers) > 1:
        yield Nature("double check", arrived if arrived in checkers else None)
    if board.is_en_passant(move):
        yield Nature("capture", square=move.to_square + (-8 if board.turn else 8))
    elif board.is_capture(move):
        yield Nature("capture", square=move.to_square)
    if move.promotion:
        yield Nature("promotion", value=move.promotion)


def _interposer_taken(at: Situation) -> Iterator[Nature]:
    """The man taken stepped between a checker and the king with the reply before."""
    if at.last is None or not at.board.is_capture(at.move):
        return
    before, reply = at.last
    if at.move.to_square == reply.to_square and how_it_answers(before, reply) == "interposition":
        yield Nature("interposition captured", square=at.move.to_square)


def _quiet(at: Situation, found: list[Nature]) -> Iterator[Nature]:
    """A quiet move is neither check nor capture nor promotion.

    A move that is no check threatens if a pass of the defender would let it mate no later than
    the line does; else it is a move of zugzwang: his having to move is what mates him.
    """
    kinds = {n.kind for n in found}
    if "check" in kinds:
        return
    if not kinds & {"capture", "promotion"}:
        yield Nature("quiet")
    if at.threat is not None and at.threat.moves < at.mate_in:
        yield Nature("threat", move=at.threat.keys[0], value=at.threat.moves)
    else:
        yield Nature("zugzwang")


# --- what depends on the replies ------------------------------------------------------------


def continue_line(proof: Proof, board: chess.Board) -> tuple[chess.Move, ...]:
    """From a position with the mating side to move, the proof's move, the longest defence,
    and so on to mate; cut short where the proof does not know a position."""
    walk = board.copy(stack=False)
    attacker = walk.turn
    line: list[chess.Move] = []
    while not walk.is_game_over():
        if walk.turn == attacker:
            known = proof.tree.get(position_key(walk), ())
            if not known:
                break
            move = known[0]
        else:
            move = max(walk.legal_moves, key=lambda m: (_known_distance(proof, walk, m), m.uci()))
        line.append(move)
        walk.push(move)
    return tuple(line)


def _known_distance(proof: Proof, board: chess.Board, move: chess.Move) -> int:
    board.push(move)
    distance = proof.distance.get(position_key(board), 0)
    board.pop()
    return distance


def _courses(at: Situation, after: chess.Board, accepted: list[chess.Move]) -> Iterator[_Course]:
    """The line's reply, and each reply that takes an offered man, played on to mate."""
    rest = at.rest
    replies = [*rest[:1], *(m for m in accepted if m not in rest[:1])]
    for reply in replies:
        walk = after.copy(stack=False)
        walk.push(reply)
        moves = rest[1:] if rest and reply == rest[0] else continue_line(at.proof, walk)
        if not moves:
            continue
        walk.push(moves[0])
        after_follow = walk.copy(stack=False)
        for move in moves[1:]:
            walk.push(move)
        if walk.is_checkmate():
            yield _Course(after, reply, moves[0], after_follow, moves[1:], case_of(walk))


def _decoy(course: _Course, accepted: list[chess.Move]) -> Iterator[Nature]:
    """A decoy is a sacrifice whose acceptance puts the capturing man where the mate needs him.

    The capturing man is the king, and he is mated on that square, or the next move checks him
    there and would not check him where he came from.  Or he is another man who stands on that
    square in the mate and takes part in a skeleton.
    """
    reply = course.reply
    if reply not in accepted:
        return
    piece = course.before.piece_type_at(reply.from_square)
    decoy = Nature("decoy", reply.from_square, reply.to_square, reply)
    if piece == chess.KING:
        if course.mate.king == reply.to_square or _check_needs_step(course):
            yield decoy
    elif _still_there(course, reply) and _takes_part(course.mate, reply.to_square):
        yield decoy


def _check_needs_step(course: _Course) -> bool:
    if not course.after_follow.is_check():
        return False
    back = course.after_follow.copy(stack=False)
    king = back.remove_piece_at(course.reply.to_square)
    if king is None or king.piece_type != chess.KING:
        return False
    if back.piece_at(course.reply.from_square) is not None:
        return True
    back.set_piece_at(course.reply.from_square, king)
    return not back.is_check()


def _still_there(course: _Course, reply: chess.Move) -> bool:
    """Whether the replying man is on the square he went to when it is mate."""
    touched = (course.follow, *course.later)
    return all(reply.to_square not in (m.from_square, m.to_square) for m in touched)


def _takes_part(case: Case, man: chess.Square) -> bool:
    return case.takes_part.get(man, "none") != "none"


def _deflection(course: _Course, *, forced: bool) -> Iterator[Nature]:
    """A deflection makes a man leave a square from which he could have met the next move.

    The move checks or offers a man, the reply is made by a man other than the king, and the next
    move does not simply take him.  If
    that man were still where he came from, all else as it is after the next move of the mating
    side, he would have a legal move that answers it: takes a checker or steps between, or, if
    it is no check, takes the man who made it.  From where he went he has none.
    """
    reply, follow = course.reply, course.follow
    man = course.before.piece_at(reply.from_square)
    if not forced or man is None or man.piece_type == chess.KING:
        return
    if follow.to_square == reply.to_square:
        return
    now = course.after_follow
    if any(_meets(now, m, follow) for m in now.legal_moves if m.from_square == reply.to_square):
        return
    back = now.copy(stack=False)
    if back.piece_at(reply.from_square) is not None:
        return
    back.remove_piece_at(reply.to_square)
    back.set_piece_at(reply.from_square, man)
    if back.was_into_check():
        return
    for move in sorted(back.legal_moves, key=lambda m: m.uci()):
        if move.from_square == reply.from_square and _meets(back, move, follow):
            yield Nature("deflection", reply.from_square, move.to_square, reply)
            return


def _meets(board: chess.Board, move: chess.Move, last: chess.Move) -> bool:
    return board.is_check() or move.to_square == last.to_square


def _self_block(course: _Course) -> Iterator[Nature]:
    """A forced self-block: the reply of a man other than the king puts him on a square of the
    field of the mate, where he still stands and takes part in a skeleton."""
    reply = course.reply
    if course.before.piece_type_at(reply.from_square) == chess.KING or not _still_there(
        course, reply
    ):
        return
    blocked = any(f.square == reply.to_square for f in course.mate.field)
    if blocked and _takes_part(course.mate, reply.to_square):
        yield Nature("self-block", reply.from_square, reply.to_square, reply)


def _line_opening(course: _Course, at: Situation) -> Iterator[Nature]:
    """A line opening makes a defender's man leave a line that the mating side uses.

    He leaves it with the reply, or this move takes him there.  The line is used if a later
    move of a line man passes over the square he left, or if in the mate a stone on it would
    leave no check, or a square of the field without a reason.
    """
    reply = course.reply
    if course.before.piece_type_at(reply.from_square) != chess.KING:
        for man in _users(course, reply.from_square, at.board.turn):
            yield Nature("line opening", man, reply.from_square, reply)
    if at.board.is_capture(at.move) and not at.board.is_en_passant(at.move):
        for man in _users(course, at.move.to_square, at.board.turn):
            yield Nature("line opening", man, at.move.to_square)


def _clearance(course: _Course, at: Situation) -> Iterator[Nature]:
    """A clearance takes a man of the mating side off a square that another of them uses.

    Another man later moves to that square (not to take a man who came there), or uses a line
    over it (as in a line opening) that this move did not open at once as a discovered check.
    To follow to the same square, as in an exchange by doubled rooks, is no use of the line.
    """
    square = at.move.from_square
    own = at.move.to_square
    walk = course.before.copy(stack=False)
    walk.push(course.reply)
    for later in (course.follow, *course.later):
        if later.from_square == own:
            own = later.to_square
        elif (
            walk.turn == at.board.turn and later.to_square == square and not walk.is_capture(later)
        ):
            yield Nature("clearance", later.from_square, square)
            return
        walk.push(later)
    discovered = set(chess.scan_forward(course.before.checkers_mask()))
    for man in _users(course, square, at.board.turn, past=at.move.to_square):
        if man not in discovered and man != own:
            yield Nature("clearance", man, square)


def _users(
    course: _Course,
    square: chess.Square,
    colour: chess.Color,
    past: chess.Square | None = None,
) -> tuple[chess.Square, ...]:
    """The line men of the mating side who use a line over a square after the reply: where each
    starts from, if he moves over it (to another square than `past`), else where he stands in
    the mate."""
    stone = chess.BB_SQUARES[square]
    walk = course.before.copy(stack=False)
    walk.push(course.reply)
    found = []
    for later in (course.follow, *course.later):
        over = stone & chess.between(later.from_square, later.to_square)
        if walk.turn == colour and over and later.to_square != past:
            found.append(later.from_square)
        walk.push(later)
    movers = {later.to_square for later in (course.follow, *course.later)} if found else set()
    found.extend(man for man in _workers_over(course.mate, square) if man not in movers)
    return tuple(dict.fromkeys(found))


def _workers_over(case: Case, square: chess.Square) -> tuple[chess.Square, ...]:
    """The line men of the mating side without whose line over an empty square it is no mate."""
    board = case.board
    if board.piece_at(square) is not None:
        return ()
    stone = chess.BB_SQUARES[square]
    workers = 0
    if len(case.checkers) == 1 and stone & chess.between(case.checkers[0], case.king):
        workers |= chess.BB_SQUARES[case.checkers[0]]
    lifted = board.occupied & ~chess.BB_SQUARES[case.king]
    for f in case.field:
        if f.state != "guarded" or f.square is None or f.square == square:
            continue
        if not board.attackers_mask(case.mating, f.square, lifted | stone):
            workers |= board.attackers_mask(case.mating, f.square, lifted)
    return tuple(chess.scan_forward(workers))
