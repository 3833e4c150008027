"""The workbench in the browser: a local server with the coach's desk on its pages.

This room shows and takes in; what is proved, explained, drawn, kept and printed comes from
the rooms above it.  Nothing heavy is loaded until `flightless.web.app` is.
"""
