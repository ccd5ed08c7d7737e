"""Rounds: which looks go together, in which order they are walked, and what is done on the way."""
