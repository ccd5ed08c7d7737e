"""An invented example, to look around in before any record of one's own is entered."""

USERNAME = "manager"
PASSWORD = "makegood-demo"


def load_demo() -> None:
    """Enter the example into an empty database."""
