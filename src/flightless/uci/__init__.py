"""The open engine protocol UCI, both ways: a server that answers it, and a second opinion.

Loading the package loads nothing compiled.  What a search finds is the business of `prove/`.
"""
