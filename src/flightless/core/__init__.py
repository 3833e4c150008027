"""Compiled chess rules over bare integers and arrays: bitboards, legal moves, mate tests.

The rooms below call the compiled functions from compiled functions of their own, or use
`flightless.core.boards` for `chess.Board` in and `chess.Move` out.  This file imports
nothing, so that a command which computes nothing never loads the compiler.
"""
