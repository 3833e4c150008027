"""English for the verdict and the moves that lead to the mate."""

from __future__ import annotations

from flightless.words.english.grammar import COLOUR, KIND, listed, number, sentence, sq
from flightless.words.english.talk import Talk
from flightless.words.facts import statements as st
from flightless.words.notation import Step, eye, figure_line

__all__ = [
    "delay",
    "ends_with",
    "first_moves",
    "is_mated",
    "key_move",
    "mate_in",
    "mated_in",
    "no_mate",
    "pattern_name",
    "replies",
    "undecided",
]


def is_mated(s: st.IsMated, talk: Talk) -> list[str]:
    talk.king_named = True
    return [f"It is mate: {COLOUR[s.mated]}'s king on {sq(s.king)} has no answer to the check."]


def pattern_name(s: st.PatternName, talk: Talk) -> list[str]:
    del talk
    known = f", known as {s.known_as}" if s.known_as else ""
    told = [sentence(f"the pattern: {s.description}{known}")]
    if s.also:
        told.append(sentence(f"it is also {s.also}"))
    return told


def mate_in(s: st.MateIn, talk: Talk) -> list[str]:
    del talk
    ways = "" if s.ways == 1 else f", in {number(s.ways)} ways"
    shorter = "" if s.shortest else "; a shorter one is not ruled out"
    return [f"Mate in {number(s.moves)}{ways}{shorter}."]


def first_moves(s: st.FirstMoves, talk: Talk) -> list[str]:
    del talk
    named = [eye(step, mate_word="") for step in s.keys[: s.named]]
    if s.named == len(s.keys):
        return [f"{listed(named)} all do it." if s.named > 2 else f"{listed(named)} both do it."]
    return [f"{listed(named)} are three of them."]


def mated_in(s: st.MatedIn, talk: Talk) -> list[str]:
    del talk
    side = COLOUR[s.defender]
    told = f" The main line is {figure_line(s.line)}." if s.line else ""
    return [f"{side} is mated in {number(s.moves)}, whatever {side} plays." + told]


def no_mate(s: st.NoMate, talk: Talk) -> list[str]:
    del talk
    moves = "one move" if s.moves == 1 else f"{number(s.moves)} moves"
    return [f"{COLOUR[s.attacker]} has no mate within {moves}."]


def undecided(s: st.Undecided, talk: Talk) -> list[str]:
    del talk
    why = {
        "nodes": f"the search stopped at its budget of {s.budget:,} positions",
        "seconds": "the search stopped at its limit of time",
        None: "the search stopped first",
    }[s.stopped_by]
    told = [f"Not decided: {why}."]
    if s.searched:
        told.append(f"There is no mate in {number(s.searched)}; beyond that nothing is known.")
    return told


_MOST_NAMED = 3


# --- first moves ---------------------------------------------------------------------------


def key_move(s: st.KeyMove, talk: Talk) -> list[str]:
    del talk
    moves = listed(eye(step, mate_word="") for step in s.steps)
    if s.steps[0].mate:
        return [f"The {'only ' if s.only else ''}move is {moves}."]
    if s.nature in ("quiet", "no check"):
        return _quiet(s, moves)
    several = len(s.steps) > 1
    if s.nature == "double check":
        men = listed(KIND[m.piece.piece_type] for m in s.checkers)
        what = "double checks" if several else "a double check"
        verb = f"are {'both' if len(s.steps) == 2 else 'all'}" if several else "is"
        if s.only:
            head = f"The only first move is {moves}, {what} from {men}, so the king must move"
        else:
            head = f"{moves} {verb} {what} from {men}, so the king must move"
        if s.king_must:
            head += f", and {sq(s.king_must[0])} is his only square"
        return [head + "."]
    if s.only:
        return [f"The only first move is {moves}."]
    if s.nature == "discovered check":
        what = "discovered checks" if several else "a discovered check"
        return [f"{moves} {'are' if several else 'is'} {what}."]
    if several:
        return [f"{moves} {'both' if len(s.steps) == 2 else 'all'} do it."]
    return [f"{moves} does it with check."]


def _quiet(s: st.KeyMove, moves: str) -> list[str]:
    """Moves that do not check: what they threaten."""
    threat = f"threatens {figure_line(s.threat)}" if s.threat else ""
    end = ", and there is no defence" if s.no_defence else ""
    several, quiet = len(s.steps) > 1, s.nature == "quiet"
    if several:
        kind = "are quiet moves" if quiet else "do it without a check"
        return [
            f"{moves} {kind}{f' with the threat of {figure_line(s.threat)}' if threat else ''}."
        ]
    if s.only:
        head = f"The only first move is {moves}{', a quiet move' if quiet else ''}"
        return [f"{head}; it {threat}{end}."] if threat else [f"{head}."]
    head = f"{moves}, quiet," if quiet else moves
    if not threat:
        return [f"{moves} {'is a quiet move' if quiet else 'does it without a check'}."]
    return [f"{head} {threat}{end}."]


# --- the play ------------------------------------------------------------------------------


def replies(s: st.Replies, talk: Talk) -> list[str]:
    del talk
    after = f"after {eye(s.after)} " if s.lead else ""
    if s.main:
        return [sentence(after + _main_reply(s))]
    if s.replies == 1:
        return [sentence(after + _sole_reply(s))]
    if len(s.branches) == 1:
        answer = s.branches[0][1]
        defender = COLOUR[not s.after.white]
        return [f"Whatever {defender} replies, {eye(answer, mate_word='')} is mate."]
    return [sentence(_by_mates(s))]


def _by_mates(s: st.Replies) -> str:
    parts = []
    for i, (these, answer) in enumerate(s.branches):
        mate = eye(answer, mate_word="")
        if i and i == len(s.branches) - 1 and len(these) > 2:
            parts.append(f"after anything else {mate}")
        else:
            parts.append(f"after {_replies_named(these)} {mate}{' is mate' if i == 0 else ''}")
    return ", ".join(parts)


def _replies_named(these: tuple[Step, ...]) -> str:
    if len(these) > _MOST_NAMED:
        return f"{eye(these[0])} and {number(len(these) - 1)} other replies"
    return listed((eye(r, numbered=i == 0) for i, r in enumerate(these)), "or")


def _main_reply(s: st.Replies) -> str:
    (reply,), answer = s.branches[0]
    defender = COLOUR[not s.after.white]
    count = f"{defender} has {number(s.replies)} replies"
    if s.at_once:
        last = f"the longest defence is {eye(reply)}, {_answered(s, answer)}"
        return f"{count}: {_met(s)}; {last}"
    which = "the longest defence is" if s.longest else "the main line goes"
    return f"{count}; {which} {eye(reply)}, {_answered(s, answer)}"


def _met(s: st.Replies) -> str:
    """'1…Kf8 or Kh8 allows 2.Qf7 mate'."""
    parts = []
    for i, (these, a) in enumerate(s.at_once):
        verb = f" {'allow' if len(these) > _MOST_NAMED else 'allows'} " if i == 0 else " "
        parts.append(f"{_replies_named(these)}{verb}{eye(a)}")
    return listed(parts)


def _sole_reply(s: st.Replies) -> str:
    (reply,), answer = s.branches[0]
    defender = COLOUR[not s.after.white]
    move = eye(reply)
    if s.said:
        return f"after {move} {_then(answer)}"
    again, once_more = (" again", "again ") if s.again else ("", "")
    how = {
        "takes": f"{defender} must take{again}: {move}",
        "king takes": f"the king must take{again}: {move}",
        "king": f"{once_more}the king has one square: {move}",
        "between": f"{defender} can{again} only put the {_mover(reply)} between: {move}",
        "promotion": f"the only reply is {move}",
        "other": f"{once_more}the only reply is {move}",
    }[s.how]
    return f"{how}, {_answered(s, answer)}"


def _mover(step: Step) -> str:
    kind = step.board.piece_type_at(step.move.from_square)
    assert kind is not None
    return KIND[kind]


def _answered(s: st.Replies, answer: Step) -> str:
    if s.back:
        man = f"the second {_mover(answer)}" if s.other else f"the {_mover(answer)}"
        return f"and {man} takes back, {eye(answer)}"
    return f"and {_then(answer)}" if answer.mate else f"and then {eye(answer)}"


def _then(answer: Step) -> str:
    return f"{eye(answer, mate_word='')} is mate" if answer.mate else f"comes {eye(answer)}"


def delay(s: st.Delay, talk: Talk) -> list[str]:
    del talk
    lines = listed((figure_line(line) for line in s.lines), "or")
    end = ", and the threat is still there" if s.threat_stays else ""
    return [f"{COLOUR[s.defender]} can only delay: {lines}{end}."]


def ends_with(s: st.EndsWith, talk: Talk) -> list[str]:
    del talk
    return [f"The main line ends with {eye(s.step)}."]
