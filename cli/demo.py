"""`fent demo`."""


def demo() -> None:
    """Demo."""
