"""An error as plain data: what, where, value, remedy."""

from __future__ import annotations

import os
import sys
import traceback

from pullbook.errors import PullbookError
from pullbook.web.remedies import remedy_on_page

__all__ = ["error_form"]


def error_form(error: BaseException, *, of_text: bool = False) -> dict[str, str]:
    """Form in which every route, job and page tells an error.

    Parameters
    ----------
    error : BaseException
        One of ours; anything else is told as a defect of pullbook, and its trace goes to the standard error stream
        where ``PULLBOOK_TRACEBACK`` is set.
    of_text : bool
        Whether the lines of the file are written, and not the fields of the page; the remedy names the former then.

    Returns
    -------
    dict of str to str
        ``what``, ``where``, ``value`` and ``remedy``, each empty where there is nothing to say.

    Examples
    --------
    >>> error_form(PullbookError("there is no such build", where="of", value="F", remedy="choose one of A, B"))
    {'what': 'there is no such build', 'where': 'of', 'value': 'F', 'remedy': 'choose one of A, B'}
    """
    if isinstance(error, PullbookError):
        return {"what": error.what, "where": error.where, "value": error.value,
                "remedy": error.remedy if of_text else remedy_on_page(error)}  # fmt: skip
    if isinstance(error, MemoryError):
        return {
            "what": "the memory of this machine is not enough for it", "where": "", "value": "",
            "remedy": "close other programs, or split the largest file, and run it again",
        }  # fmt: skip
    if os.environ.get("PULLBOOK_TRACEBACK"):
        traceback.print_exception(error, file=sys.stderr)
    return {
        "what": f"this is a defect of pullbook ({type(error).__name__}: {error}); nothing of yours was changed",
        "where": "", "value": "",
        "remedy": "start pullbook with PULLBOOK_TRACEBACK=1, run it again and report what it prints",
    }  # fmt: skip
