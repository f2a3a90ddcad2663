"""Kinds of work whose module ends every worker that imports it."""

from __future__ import annotations

import os
import sys

from jobs_cases import KINDS, WARM

__all__ = ["KINDS", "WARM"]

if sys.argv[0].endswith("worker.py"):
    os._exit(7)
