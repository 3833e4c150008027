"""The German phrasebook."""
