"""Names for mates: the catalogue of patterns, the recogniser, and what every mate has.

The room reads cases; it searches nothing and draws nothing.  Modules are imported one by
one (`flightless.patterns.recognise`), so that a caller loads only what it uses.
"""
