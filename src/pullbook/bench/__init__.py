"""Live sources and invented ones; today only the demo."""

from __future__ import annotations

from pullbook.bench.demo import DEMO_SEED, demo_session

__all__ = ["DEMO_SEED", "demo_session"]
