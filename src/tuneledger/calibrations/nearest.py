"""The nearest known word to one that is not known: what somebody probably meant."""

from collections.abc import Iterable

from tuneledger.wording import listing


def nearest(word: str, known: Iterable[str], cutoff: float = 0.6) -> str | None:
    """The known word that looks most like this one, without regard to case; None if none does.

    cutoff: how alike they must be, 0 to 1
    """
    from difflib import get_close_matches  # only faulty sheets pay for it

    by_fold = {name.casefold(): name for name in known}
    found = get_close_matches(word.strip().casefold(), by_fold, n=1, cutoff=cutoff)
    return by_fold[found[0]] if found else None


def did_you_mean(word: str, known: Iterable[str], everything: str = "Known are") -> str:
    """Advice for an unknown word: the nearest one, else all of them."""
    choices = tuple(known)
    near = nearest(word, choices)
    return f'Did you mean "{near}"?' if near else f"{everything} {listing(choices)}."
