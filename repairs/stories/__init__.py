"""What the pages tell of a place, a member, a repair or a lot, gathered in few queries."""
