"""When to look or repaint again: the rules, the series that they make, and the dates."""
