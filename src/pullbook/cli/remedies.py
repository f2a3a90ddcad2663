"""Remedies in the words of the command line: options where there are any, else the lines of ``session.toml``."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from pullbook.errors import Way

if TYPE_CHECKING:
    from collections.abc import Mapping

    from pullbook.errors import PullbookError

__all__ = ["WORDS", "sentence_of"]

_AS_THE_FILE: Final = "{says}"

WORDS: Final[Mapping[Way, str]] = {
    Way.BASELINE: _AS_THE_FILE,
    Way.BUILD_OUT: _AS_THE_FILE,
    Way.BUILDS: _AS_THE_FILE,
    Way.COLUMNS: _AS_THE_FILE,
    Way.COLUMN_OR_NO_STANDARD: _AS_THE_FILE,
    Way.DATE: _AS_THE_FILE,
    Way.DEMO: "{says}; 'pullbook demo --to demo' makes an example to start from",
    Way.DISPLACEMENT: _AS_THE_FILE,
    Way.EXAMPLE: _AS_THE_FILE,
    Way.FACTORS: _AS_THE_FILE,
    Way.FOLDER: "{says}; to look at one file use 'pullbook capture'",
    Way.HUMIDITY: 'write air = {{ humidity = "46 %" }} for the pull (or --humidity for a single file), "0 %" if the '
    'air is to be taken as dry, or use standard = "DIN 70020", which needs none',
    Way.INERTIA: _AS_THE_FILE,
    Way.LEFT_OUT: _AS_THE_FILE,
    Way.LOOK: "{says}; 'pullbook capture' shows what is in this one",
    Way.NEEDLESS: _AS_THE_FILE,
    Way.ORDER: _AS_THE_FILE,
    Way.PLAN: "write a plan with 'pullbook plan SESSION --write FOLDER', and go on in that folder",
    Way.PRESSURE: 'write air = {{ pressure = "99.2 kPa" }} for the pull (or --pressure for a single file), the '
    "absolute pressure at the inlet and not the sea-level pressure of a weather service, or map a column to "
    "air_pressure",
    Way.PULLS: _AS_THE_FILE,
    Way.RANGE: _AS_THE_FILE,
    Way.RECEIVED: _AS_THE_FILE,
    Way.REMEMBER: _AS_THE_FILE,
    Way.REPEATS: _AS_THE_FILE,
    Way.REPLACE: "choose another folder, or allow it with --replace",
    Way.SCALE: _AS_THE_FILE,
    Way.STANDARD: _AS_THE_FILE,
    Way.TEMPERATURE: 'write air = {{ temperature = "24.1 degC" }} for the pull (or --temperature for a single file), '
    "or map a column to air_temperature",
    Way.TIME: "allow more time with --within, or take builds out of session.toml",
    Way.WHICH: _AS_THE_FILE,
    Way.WITHOUT_BANDS: "{says} with --without-bands",
}
"""Words of each way, as `str.format` takes them; ``{says}`` stands for those of the file."""


def sentence_of(error: PullbookError) -> str:
    """Error as the command line says it.

    Examples
    --------
    >>> from pullbook.errors import RefusalError
    >>> ways = Way.WITHOUT_BANDS.said("make a second pull, or ask for curves alone")
    >>> sentence_of(RefusalError("one pull each", remedy=ways))
    'one pull each; make a second pull, or ask for curves alone with --without-bands.'
    """
    if error.coded is None:
        return str(error)
    return error.told(WORDS[error.coded.way].format(says=error.coded.says, value=error.coded.value))
