"""What one run of the notebook's server was asked for."""

from __future__ import annotations

import ipaddress
import secrets
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final

from pullbook.errors import InputError

if TYPE_CHECKING:
    from pathlib import Path

__all__ = ["LOOPBACK", "Settings", "is_loopback", "reached_by"]

LOOPBACK: Final = "127.0.0.1"
_MEGABYTE: Final = 1_000_000


def is_loopback(host: str) -> bool:
    """Whether only programs of this machine can reach an address.

    Examples
    --------
    >>> is_loopback("127.0.0.1"), is_loopback("::1"), is_loopback("localhost"), is_loopback("0.0.0.0")
    (True, True, True, False)
    """
    if host.lower() == "localhost" or host.lower().endswith(".localhost"):
        return True
    try:
        return ipaddress.ip_address(host.strip("[]")).is_loopback
    except ValueError:
        return False


def _without_port(name: str) -> str:
    """Host of "bench.example:443" or "[::1]:443"."""
    return name[: name.index("]") + 1] if name.startswith("[") and "]" in name else name.split(":", maxsplit=1)[0]


def reached_by(host: str, names: tuple[str, ...]) -> tuple[str, str] | None:
    """Option and value by which others than this machine reach the notebook; None where they do not.

    A name that is not this machine's own means that something forwards to the notebook.
    """
    if not is_loopback(host):
        return "--host", host
    others = [name for name in names if not is_loopback(_without_port(name))]
    return ("--name", others[0]) if others else None


def _no_password(what: str, where: str, value: str) -> InputError:
    return InputError(what, where=where, value=value, remedy="run 'pullbook serve --set-password' first")


@dataclass(frozen=True, slots=True, kw_only=True)
class Settings:
    """What the server serves, to whom, and within which bounds.

    Attributes
    ----------
    root : Path
        Folder whose sessions are served.
    host : str
        Address that is listened on.
    port : int
        Port that is listened on.
    names : tuple of str
        Further names by which a browser may ask for the notebook, as "bench.example" or "bench.example:443".
    password_hash : str
        Hash of the password. Empty where nobody has to log in.
    guests : bool
        Whether those who have not logged in may read.
    token : str
        What a request that changes something has to carry; another one at each start.
    archive : str
        Where the archive is; empty for the usual place. It may hold a password.
    most_json : int
        Largest body of a request that is no upload. [byte]
    most_upload : int
        Largest file that is taken. [byte]

    Raises
    ------
    InputError
        If others could reach the notebook and there is no password.
    """

    root: Path
    host: str = LOOPBACK
    port: int
    names: tuple[str, ...] = ()
    password_hash: str = field(default="", repr=False)
    guests: bool = False
    token: str = field(default_factory=lambda: secrets.token_urlsafe(32), repr=False)
    archive: str = field(default="", repr=False)
    most_json: int = _MEGABYTE
    most_upload: int = 2_000 * _MEGABYTE

    def __post_init__(self) -> None:
        if self.password_hash:
            return
        if reached := reached_by(self.host, self.names):
            option, value = reached
            raise _no_password("others can reach the notebook there", option, value)
        if self.guests:
            raise _no_password("guests are those who have not logged in, and nobody has to", "--guests", "")

    @property
    def demands_login(self) -> bool:
        """Whether somebody has to log in before changing anything."""
        return bool(self.password_hash)

    @property
    def address(self) -> str:
        """Address of the notebook as it is typed into a browser of this machine."""
        local = {"0.0.0.0": LOOPBACK, "::": "::1"}.get(self.host, self.host)  # noqa: S104 - it is translated, not bound
        host = f"[{local}]" if ":" in local else local
        return f"http://{host}:{self.port}/"
