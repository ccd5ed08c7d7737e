"""Money: the ledger of cost lines, and what is read from it."""
