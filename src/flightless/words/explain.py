"""The way in: an account, or plain sentences, of a proof and the case of its mate.

Puts the statements of `facts/` in order and has a phrasebook say them; it decides nothing
about the position.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

import chess

from flightless.cases.case import Case, Man
from flightless.errors import UsageError
from flightless.patterns.recognise import Name
from flightless.prove.proof import Proof
from flightless.words.account import SECTIONS, Account, Section, SectionName
from flightless.words.extras import Extras
from flightless.words.facts.change import instead_of, not_needed_of, saved_of
from flightless.words.facts.further import either_of, meanings_of, other_king_of, tries_told
from flightless.words.facts.mate import check_of, other_end, squares_of, work_of, wrong_of
from flightless.words.facts.nearly import nearly_told
from flightless.words.facts.scene import Scene
from flightless.words.facts.statements import IsMated, LuftMissing, PatternName, Statement
from flightless.words.facts.way import Way
from flightless.words.phrasebook import Phrasebook, phrasebook

if TYPE_CHECKING:
    from flightless.cases.missing import NearMate

__all__ = ["account", "account_of_missing", "sentences", "told"]

NOTHING = Extras()
CaseOf = Callable[[chess.Board], Case]
Told = list[tuple[SectionName, Statement]]


def told(
    proof: Proof | None,
    case: Case | None,
    names: Sequence[Name] = (),
    cases: CaseOf | None = None,
    extras: Extras = NOTHING,
) -> Told:
    """The statements of an account in order, each with its section; arguments as `account`."""
    way = Way(proof) if proof is not None else None
    out: Told = []

    def put(section: SectionName, statements: Sequence[Statement]) -> None:
        out.extend((section, statement) for statement in statements)

    if way is not None:
        put("verdict", way.verdict())
    elif case is not None:
        put("verdict", [IsMated(case.mated, case.king)])
    if case is not None:
        scene = Scene(case)
        put("verdict", _named(names))
        put("check", check_of(scene, way.untold if way else ()))
        put("squares", squares_of(scene))
        if way is not None:
            put("squares", _other_ends(way, scene, cases))
        put("work", work_of(scene))
        put("work", either_of(scene, extras.either))
        put("wrong", wrong_of(scene))
        put("instead", instead_of(scene))
        put("not needed", not_needed_of(scene))
        put("saved", saved_of(scene, extras.breaks))
        if extras.own_king is not None:
            said = any(isinstance(s, LuftMissing) and s.back_rank for _, s in out)
            put("saved", other_king_of(scene, extras.own_king, said))
    if way is not None:
        put("way in", way.way_in())
        if extras.way is not None:
            put("way in", meanings_of(extras.way))
        put("way in", tries_told(way.start, extras.tries))
    return out


def _named(names: Sequence[Name]) -> list[Statement]:
    """The most specific name, and one more that is not merely its parent."""
    if not names:
        return []
    first = names[0].pattern
    parents = {first.name, *first.parents}
    also = [n.pattern for n in names[1:] if n.pattern.name not in parents and n.pattern.known_as]
    return [PatternName(first.description, first.known_as, also[0].known_as if also else None)]


def _other_ends(way: Way, scene: Scene, cases: CaseOf | None) -> list[Statement]:
    """The final positions after the other keys, each by what differs."""
    lines = way.ends()
    if not lines:
        return []
    if cases is None:
        from flightless.cases.build import case_of  # loads what computes: only when needed

        cases = case_of
    known = {scene.board.board_fen()}
    out: list[Statement] = []
    for line in lines:
        end = line[-1].after
        if end.is_checkmate() and end.board_fen() not in known:
            known.add(end.board_fen())
            out.append(other_end(Scene(cases(end)), scene, line))
    return out[:2]


def account(
    proof: Proof | None,
    case: Case | None,
    names: Sequence[Name] = (),
    language: str = "en",
    cases: CaseOf | None = None,
    extras: Extras = NOTHING,
) -> Account:
    """Everything worth saying aloud of a position.

    With a mate in n: `proof`, and as `case` that of the final position of its main line.  On a
    mated position: `case` alone.  With any other verdict: `proof` alone.  `names` are the
    patterns that fit the case, the most specific first.  `cases` gives the case of a mated
    board (`cases.build.case_of` unless told otherwise); it is asked only where several first
    moves end in different mates.  `extras` are further findings of the case room.

    Raises `UsageError` for a language that has no phrasebook, or if neither proof nor case is
    given.
    """
    book = phrasebook(language)
    if proof is None and case is None:
        raise UsageError("an account needs a proof or a case")
    cast, mated = ((), None) if case is None else (Scene(case).cast, case.mated)
    return _account(told(proof, case, names, cases, extras), book, book.talk(cast, mated))


def _account(statements: Told, book: Phrasebook, talk: object) -> Account:
    sections = []
    for name in SECTIONS:
        lines = [line for at, st in statements if at == name for line in book.say(st, talk)]
        if lines:
            sections.append(Section(name, tuple(lines)))
    return Account(tuple(sections), book.language)


def sentences(
    proof: Proof | None,
    case: Case | None,
    names: Sequence[Name] = (),
    language: str = "en",
    cases: CaseOf | None = None,
    extras: Extras = NOTHING,
) -> tuple[str, ...]:
    """The sentences of `account`, in order."""
    return account(proof, case, names, language, cases, extras).sentences


def account_of_missing(near: NearMate, proof: Proof | None = None, language: str = "en") -> Account:
    """What is said of a position that is not mate: the answers to the check that is on the
    board, stalemate, or for a quiet position the nearest checks; and what is missing.

    `proof` is the search's answer for a quiet position, said first.
    """
    book = phrasebook(language)
    board = chess.Board(near.fen)
    side = board.turn if near.kind != "quiet" else not board.turn
    statements: Told = []
    if proof is not None:
        statements += [("verdict", statement) for statement in Way(proof).verdict()]
    if proof is None or proof.verdict in ("no mate", "undecided"):
        statements += nearly_told(near)
    return _account(statements, book, book.talk(_all_men(board), side))


def _all_men(board: chess.Board) -> tuple[Man, ...]:
    return tuple(Man(square, piece) for square, piece in sorted(board.piece_map().items()))
