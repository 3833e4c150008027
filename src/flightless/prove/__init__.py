"""Prove: is it mate, in how many, against every defence?

This room searches and hands over a `Proof` and its document; it does not judge beauty and
does not explain.  Loading the package loads nothing compiled: `prove()` does, when called.
"""
