"""When to look again, as files that a calendar program reads."""
