"""Harvest: games in, finds out: mates given, mates missed, resignations before a forced mate.

This room reads PGN as a stream, replays each game, asks the prover where something is
possible and describes what it found.  It stores nothing and prints nothing; a bad game is
an item of the stream like any other, and costs that game alone.
"""
