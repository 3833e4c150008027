"""Certify: the proof document and its verifier, with python-chess alone.

This room defines what a proof looks like on paper and checks one by replaying it.  It does
not search beyond two moves, and it imports neither the compiled core nor the prover.
"""

from flightless.certify.document import (
    FORMAT,
    VERSION,
    document_text,
    position_key,
    read_document,
)
from flightless.certify.verify import Verification, verify

__all__ = [
    "FORMAT",
    "VERSION",
    "Verification",
    "document_text",
    "position_key",
    "read_document",
    "verify",
]
