"""How long work under way will still take, in words."""


def time_left(seconds_gone: float, done: int, total: int) -> str:
    """ "about 12 s left" while there is something to go by, else ""."""
    if not 0 < done < total:
        return ""
    seconds = seconds_gone / done * (total - done)
    if seconds < 90:
        return f"about {seconds:.0f} s left"
    return f"about {seconds / 60:.0f} min left"
