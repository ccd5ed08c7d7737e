"""Looking again: what one inspection records, and what its page shows."""
