"""A number of things in words."""


def counted(count: int, one: str, many: str = "") -> str:
    """``1 state``, ``2 states``; ``many`` where the plural is not the word with an s."""
    return f"{count} {one if count == 1 else many or one + 's'}"
