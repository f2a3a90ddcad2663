"""Whose an address is: this machine's, or that of a machine or a household beyond it."""

from __future__ import annotations

import ipaddress
from functools import lru_cache
from typing import Final

__all__ = ["is_loopback", "site_of"]

_SITE_BITS: Final = 64  # one household or shop has a whole net of that size in IPv6
_LONGEST: Final = 64
_REMEMBERED: Final = 4_096


@lru_cache(maxsize=_REMEMBERED)
def site_of(address: str) -> str:
    """Address, or the net that an IPv6 address is in.

    Parameters
    ----------
    address : str
        As the system tells it of a connection; what is no address stands for itself.

    Returns
    -------
    str
        The same for all addresses that one machine or household has by itself.

    Examples
    --------
    >>> site_of("192.0.2.7"), site_of("::ffff:192.0.2.7"), site_of("2001:db8:1:2:3::4%eth0")
    ('192.0.2.7', '192.0.2.7', '2001:db8:1:2::/64')
    """
    found = _address(address)
    if found is None:
        return address[:_LONGEST]
    if found.version == 4:
        return str(found)
    return str(ipaddress.ip_network((int(found), _SITE_BITS), strict=False))


@lru_cache(maxsize=_REMEMBERED)
def is_loopback(address: str) -> bool:
    """Whether an address is that of a program on this machine.

    Examples
    --------
    >>> [is_loopback(address) for address in ("127.0.0.1", "::1", "::ffff:127.0.0.1", "192.0.2.7", "testclient")]
    [True, True, True, False, False]
    """
    found = _address(address)
    return found is not None and found.is_loopback


def _address(text: str) -> ipaddress.IPv4Address | ipaddress.IPv6Address | None:
    try:
        found = ipaddress.ip_address(text.split("%", maxsplit=1)[0])
    except ValueError:
        return None
    return found.ipv4_mapped or found if found.version == 6 else found
