"""The approved texts: accounts that have been read by eye and are kept word for word.

A file has fields ('title', 'source', 'fen', and 'moves' that lead on from there; 'prove' with
the number of moves to look within; or 'missing' for a position that is not mate; 'language' if it
is not English), an empty line, and the text, a paragraph a line.
Run as a program with file names it writes the text anew, for someone to read.
"""

from __future__ import annotations

import sys
from dataclasses import dataclass
from pathlib import Path

import chess

from flightless.cases.build import case_of
from flightless.cases.missing import missing_of
from flightless.patterns.recognise import names
from flightless.prove.proof import Proof
from flightless.words.account import Account
from flightless.words.explain import account, account_of_missing
from flightless.words.extras import gather

FOLDER = Path(__file__).with_name("approved")


@dataclass(frozen=True, slots=True)
class Approved:
    """One approved text."""

    path: Path
    fields: dict[str, str]
    text: str

    @property
    def is_mate(self) -> bool:
        """Whether the position is mate as it stands."""
        return not {"prove", "missing"} & set(self.fields)

    @property
    def board(self) -> chess.Board:
        """The position that the account is of, with the moves that led to it."""
        board = chess.Board(self.fields["fen"])
        for san in self.fields.get("moves", "").split():
            if not san[0].isdigit():
                board.push_san(san)
        return board


def read(path: Path) -> Approved:
    """Read one file."""
    head, _, text = path.read_text(encoding="utf-8").partition("\n\n")
    fields = dict(line.split(": ", 1) for line in head.splitlines())
    return Approved(path, fields, text.rstrip("\n"))


def all_texts(language: str | None = "en") -> list[Approved]:
    """Every approved text of a language (None: of all), by file name."""
    found = [read(path) for path in sorted(FOLDER.glob("*.txt"))]
    return [a for a in found if language in (None, a.fields.get("language", "en"))]


def account_of(approved: Approved, language: str | None = None) -> Account:
    """The account as it comes out now, in the language of the file or the one given."""
    board = approved.board
    tongue = language or approved.fields.get("language", "en")
    if "missing" in approved.fields:
        return account_of_missing(missing_of(board), _searched(board, approved), tongue)
    if approved.is_mate:
        case = case_of(board)
        return account(None, case, names(case), tongue, extras=gather(None, case))
    from flightless.prove import prove

    proof = prove(board, within=int(approved.fields["prove"]))
    if proof.verdict != "mate":
        return account(proof, None, language=tongue)
    for move in proof.line:
        board.push(move)
    case = case_of(board)
    return account(proof, case, names(case), tongue, extras=gather(proof, case))


def _searched(board: chess.Board, approved: Approved) -> Proof | None:
    """The search's answer for a quiet position, within the moves that 'missing' gives."""
    from flightless.prove import prove

    within = int(approved.fields["missing"])
    return prove(board, within=within) if within else None


def write(approved: Approved) -> None:
    """Write the text as it comes out now; to be read before it is committed."""
    head = "\n".join(f"{key}: {value}" for key, value in approved.fields.items())
    approved.path.write_text(f"{head}\n\n{account_of(approved).text}\n", encoding="utf-8")


if __name__ == "__main__":
    for name in sys.argv[1:] or [str(p) for p in sorted(FOLDER.glob("*.txt"))]:
        write(read(Path(name)))
