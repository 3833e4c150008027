"""The English phrasebook."""
