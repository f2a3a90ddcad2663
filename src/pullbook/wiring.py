"""Composition root: which bench the use cases get."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

    from pullbook.app.ports import DemoBench

__all__ = ["demo_bench"]


class _InventedBench:
    """The bench of the demo."""

    def demo_session(self) -> Mapping[str, bytes]:
        """Give the files of the demo session folder."""
        from pullbook.bench.demo import demo_session

        return demo_session()


def demo_bench() -> DemoBench:
    """Bench that the demo runs on."""
    return _InventedBench()
