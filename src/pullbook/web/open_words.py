"""What a session leaves open, in one line; a worker makes it, so that nothing of the server is imported."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = ["open_words"]


def open_words(undetermined: Sequence[str], refused: Sequence[str], *, all_bands: bool) -> tuple[str, str]:
    """What a session leaves open, in words, and the tone of them.

    Parameters
    ----------
    undetermined : sequence of str
        Claims that cannot be decided.
    refused : sequence of str
        Questions that the pulls cannot answer.
    all_bands : bool
        Whether a doubt can be stated.

    Examples
    --------
    >>> open_words(["A long pipe costs nothing"], [], all_bands=True)
    ('undecided: A long pipe costs nothing', 'open')
    >>> open_words([], [], all_bands=True)
    ('nothing', 'fine')
    """
    if not all_bands:
        return "everything: one pull a build leaves no doubt to state", "open"
    if undetermined:
        more = f", and {len(undetermined) - 1} more" if len(undetermined) > 1 else ""
        return f"undecided: {undetermined[0]}{more}", "open"
    if refused:
        return f"cannot be answered: {refused[0]}", "open"
    return "nothing", "fine"
