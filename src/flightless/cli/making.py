"""`vary`, `contrast` and `compose`: what can be made of one mate, printed or as JSON lines."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable

import chess

from flightless.cli.console import note, refuse, say, say_json
from flightless.cli.exits import Exit
from flightless.errors import PositionError, UsageError
from flightless.positions import looks_like_fen, read_position

__all__ = ["run_compose", "run_contrast", "run_vary"]


def run_vary(text: str, within: int, longer: int, *, as_json: bool) -> Exit:
    """Print every member of the family; what was dropped is counted by its reason."""
    from flightless.exercises.vary import vary

    family = vary(read_position(text).board, within, longer)
    for member in family.members:
        key = _san(member.fen, member.key)
        if as_json:
            say_json({"fen": member.fen, "how": member.how, "moves": member.moves, "key": key})
        else:
            length = f"mate in {member.moves}, 1.{key}" if key else "mate"
            say(f"{member.fen}  {member.how}; {length}")
    for reason, count in Counter(d.reason for d in family.dropped).most_common():
        note(f"{count} dropped: {reason}")
    return Exit.DONE


def run_contrast(text: str, within: int, most: int, *, as_json: bool) -> Exit:
    """Print the pairs, each with the sentence that says what the change does."""
    from flightless.exercises.contrast import contrasts
    from flightless.words.what_if import break_sentence

    material, pairs = contrasts(read_position(text).board, within, most)
    if not as_json:
        say(f"{material.fen}  mate")
    for pair in pairs:
        why = break_sentence(material.case, pair.broken)
        if as_json:
            say_json(
                {
                    "mate": pair.mate,
                    "no_mate": pair.no_mate,
                    "moves": pair.moves,
                    "key": _san(pair.mate, pair.key),
                    "why": why,
                }
            )
        else:
            say(f"{pair.no_mate}  no mate: {why}")
    if not pairs:
        note("no single change of a man breaks this mate and leaves a natural position")
    return Exit.DONE


def run_compose(
    text: str,
    moves: int,
    seeds: Iterable[int],
    phase: str,
    balanced: bool,
    *,
    quiet: bool = False,
    as_json: bool,
) -> Exit:
    """Print one composed position a seed; a seed that finds none is said and costs itself.  Of a
    quiet key the threat is said too."""
    from flightless.exercises.compose import compose
    from flightless.patterns.own import own_catalogue

    if looks_like_fen(text):
        board = read_position(text).board
    else:
        try:
            board = chess.Board(own_catalogue()[text].model.fen)
        except KeyError:
            raise UsageError(
                f"there is no pattern {text!r}; 'flightless pattern list' has all"
            ) from None
    worst = Exit.DONE
    for seed in seeds:
        try:
            made = compose(board, moves, seed, phase, balanced=balanced, quiet=quiet)
        except PositionError as error:
            refuse(str(error))
            worst = Exit.INPUT
            continue
        key = _san(made.fen, made.key)
        threat = _threat(made.fen, made.key, moves) if quiet else None
        if as_json:
            found = {"fen": made.fen, "moves": moves, "key": key}
            more = {"mated": made.mated, "seed": seed}
            say_json({**found, **({"threat": threat} if quiet else {}), **more})
        else:
            dots = "1." if chess.Board(made.fen).turn else "1…"
            said = f"; threat {threat}" if threat else "; no threat, zugzwang" if quiet else ""
            say(f"{made.fen}  mate in {moves}, {dots}{key}{said}")
    return worst


def _threat(fen: str, key: chess.Move, moves: int) -> str | None:
    """What a quiet key threatens, in SAN; None if it leaves the defender in zugzwang."""
    from flightless.prove import threat_of

    board = chess.Board(fen)
    board.push(key)
    threat = threat_of(board.copy(stack=False), moves - 1)
    if threat is None:
        return None
    board.push(chess.Move.null())
    return board.san(threat.line[0])


def _san(fen: str, move: chess.Move | None) -> str | None:
    return None if move is None else chess.Board(fen).san(move)
