"""`flightless proofread`: the drawer of old sheets, checked position by position."""

from __future__ import annotations

from typing import Any

from flightless.cli.console import say, say_json
from flightless.cli.exits import Exit
from flightless.cli.warm import ready
from flightless.harvest.claims import Sheet, sheets_of
from flightless.prove.proofread import Finding, proofread

__all__ = ["run_proofread"]


def run_proofread(source: str, within: int, nodes: int | None, *, as_json: bool) -> Exit:
    """Check every claim of an EPD file or a game file; 1 if any is not sound, 2 if unreadable."""
    from flightless.prove import DEFAULT_NODES
    from flightless.words.proofreading import finding_text

    sheets = list(sheets_of(source))
    ready()
    sound = 0
    refused = False
    for sheet in sheets:
        if sheet.claim is None:
            finding = Finding(None, (sheet.fault,) if sheet.fault else ())
            refused = True
        else:
            finding = proofread(sheet.claim, within, nodes or DEFAULT_NODES)
        sound += finding.sound
        text = finding_text(finding)
        if as_json:
            say_json(_json(sheet, finding, text))
        else:
            say(f"{sheet.place}: {text}")
    if not as_json:
        say(f"{sound} of {len(sheets)} sound.")
    if refused:
        return Exit.INPUT
    return Exit.DONE if sound == len(sheets) else Exit.NOT_VERIFIED


def _json(sheet: Sheet, finding: Finding, text: str) -> dict[str, Any]:
    proof = finding.proof
    return {
        "place": sheet.place,
        "fen": sheet.fen,
        "verdict": "sound" if finding.sound else "faulty",
        "faults": [
            {"kind": f.kind, "line": [m.uci() for m in f.line], "distance": f.distance}
            for f in finding.faults
        ],
        "moves": proof.moves if proof else None,
        "keys": [move.uci() for move in proof.keys] if proof else [],
        "sentences": [text],
    }
