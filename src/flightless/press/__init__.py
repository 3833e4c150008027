"""Pages on paper: worksheets, answer keys and handouts as PDF.

This room lays out what it is given.  Sentences, solutions and sources come to it as text;
the diagrams and ledgers on its pages are those of `draw/`.
"""
