"""Flightless: the workbench of a chess coach who teaches checkmating patterns.

The rooms below this package each do one thing and import only from the rooms above
them (see CONTRIBUTING.md for the map).  Importing the package itself loads nothing heavy.
"""

__version__ = "0.1.0"
