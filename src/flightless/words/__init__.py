"""Sentences from proofs and cases, in the voice of a coach at the board.

`facts/` decides what is worth saying and in what order, in no language; `english/` says it.
`explain` is the way in.  No chess is computed here: boards are only looked at.
"""
