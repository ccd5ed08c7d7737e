"""Logging a repair: what was typed, judged by every rule, and saved whole or not at all."""
