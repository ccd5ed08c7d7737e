"""The years ahead: looks, repaints and expected repairs, with what they cost."""
