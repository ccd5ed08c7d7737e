"""What follows from a planned repair: amounts, batches, days, money; and keeping the plan."""
