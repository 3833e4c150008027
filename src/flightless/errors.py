"""The errors that Flightless raises on purpose, under one base.

Every message is one clear sentence that says what is wrong and where, fit to be shown to
a coach as it is.  Each leaf also extends the built-in error that a caller of a library
would already catch.
"""

from __future__ import annotations

__all__ = ["CertificateError", "FileError", "FlightlessError", "PositionError", "UsageError"]


class FlightlessError(Exception):
    """Base of all errors whose message is meant for the person at the keyboard."""


class PositionError(FlightlessError, ValueError):
    """A position that is unreadable, illegal, or already over where it must not be."""


class FileError(FlightlessError, ValueError):
    """A file that is missing, empty, of the wrong kind, or wrong at a line that is named."""


class CertificateError(FlightlessError, ValueError):
    """A proof document that is malformed, or whose claim does not hold when replayed."""


class UsageError(FlightlessError, ValueError):
    """An option or argument whose value makes no sense."""
