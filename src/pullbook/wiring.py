"""Composition root: which clock, bench and renderer the use cases get."""

from __future__ import annotations
