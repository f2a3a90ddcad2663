"""Air, engine and inertia from the options of ``pullbook correct``."""

from __future__ import annotations

from typing import TYPE_CHECKING, TypeVar

from pullbook.errors import InputError
from pullbook.quantities.units import Dimension, parse_quantity
from pullbook.records.build import Engine, Ignition, Induction
from pullbook.records.declaration import Air

if TYPE_CHECKING:
    from enum import StrEnum

__all__ = ["stated_air", "stated_engine", "stated_inertia"]

_Choice = TypeVar("_Choice", bound="StrEnum")


def stated_air(temperature: str, pressure: str, humidity: str) -> Air:
    """Air of the options; what is empty stays unknown."""
    return Air(
        temperature=_quantity(temperature, Dimension.TEMPERATURE, "--temperature"),
        pressure=_quantity(pressure, Dimension.PRESSURE, "--pressure"),
        humidity=_quantity(humidity, Dimension.RATIO, "--humidity"),
    )


def stated_engine(induction: str, ignition: str, displacement: str) -> Engine:
    """Engine of the options."""
    return Engine(
        induction=_choice(induction, Induction, "--induction"),
        ignition=_choice(ignition, Ignition, "--ignition"),
        displacement=_quantity(displacement, Dimension.VOLUME, "--displacement"),
    )


def stated_inertia(text: str) -> float | None:
    """Inertia of the option. [kg m^2]."""
    return _quantity(text, Dimension.INERTIA, "--inertia")


def _quantity(text: str, dimension: Dimension, where: str) -> float | None:
    return parse_quantity(text, dimension, where=where) if text else None


def _choice(text: str, kind: type[_Choice], where: str) -> _Choice:
    for member in kind:
        if member.value == text.strip().lower():
            return member
    raise InputError(
        "there is no such choice",
        where=where,
        value=text,
        remedy=f"write one of {', '.join(member.value for member in kind)}",
    )
