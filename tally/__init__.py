"""Tally: the record of a water-well casing run and its grouting, kept beside the rig."""

__version__ = "0.1.0"
