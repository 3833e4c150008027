"""`flightless check`: proofs replayed by the verifier, which shares no code with the search."""

from __future__ import annotations

from collections.abc import Iterator

from flightless.certify import Verification, read_document, verify
from flightless.cli.console import refuse, say, say_json
from flightless.cli.exits import Exit
from flightless.errors import CertificateError, FileError
from flightless.harvest.inputs import open_bytes

__all__ = ["run_check"]


def run_check(source: str, *, as_json: bool) -> Exit:
    """Verify every proof of a file: one document, or one a line."""
    failed = refused = False
    for place, text in _documents(source):
        try:
            verification = verify(read_document(text))
        except CertificateError as error:
            refuse(str(error), place)
            refused = True
            if as_json:
                say_json({"place": place, "verdict": "refused", "reason": str(error)})
            continue
        failed = failed or not verification.ok
        if as_json:
            say_json(_json(place, verification))
        else:
            say(f"{place}: {'; '.join(verification.sentences)}.")
    if refused:
        return Exit.INPUT
    return Exit.NOT_VERIFIED if failed else Exit.DONE


def _documents(source: str) -> Iterator[tuple[str, str]]:
    """Each document with its place.  A file is one document over several lines, or a line each."""
    name = "standard input" if source == "-" else source
    with open_bytes(source) as stream:
        try:
            text = stream.read().decode("utf-8-sig")
        except UnicodeDecodeError:
            raise FileError(f"{name}: this is not text, so it is no proof") from None
    lines = [(n, line) for n, line in enumerate(text.split("\n"), 1) if line.strip()]
    if not lines:
        raise FileError(f"{name}: there is no proof in it")
    if len(lines) > 1 and lines[0][1].rstrip().endswith("}"):
        yield from ((f"{name}, line {number}", line) for number, line in lines)
    else:
        yield name, text


def _json(place: str, verification: Verification) -> dict[str, object]:
    return {
        "place": place,
        "verdict": "holds" if verification.ok else "fails",
        "checked": list(verification.checked),
        "unchecked": list(verification.unchecked),
        "where": list(verification.where),
        "positions": verification.positions,
        "sentences": list(verification.sentences),
    }
