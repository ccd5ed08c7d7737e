"""Mails that say what is overdue and what comes next."""
