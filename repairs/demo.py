def load_demo() -> None:
    """Enter the invented scenario; its own module's work is still to come."""
