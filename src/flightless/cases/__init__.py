"""Cases: what holds in a mated position and why, man by man and square by square.

Anatomy, what-if, skeletons and the way in.  This room names no pattern and speaks no
sentence; it hands over frozen data that the rooms below read.
"""
