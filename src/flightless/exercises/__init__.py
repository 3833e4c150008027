"""Exercises: which positions make a good set, and what is asked of the pupil.

This room reads cases and finds; it does not draw, print or speak.
"""
