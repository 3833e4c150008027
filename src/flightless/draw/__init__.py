"""Pictures of positions and cases: SVG boards, ledgers, marks and a board for the terminal.

This room turns a position or a `Case` into a drawing with a reading in words for those who
cannot see it.  It computes no chess beyond looking up what the case says, and knows no page:
paper is `press/`.
"""
