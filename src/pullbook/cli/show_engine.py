"""What ``pullbook engine check`` prints."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pullbook.publish.engine_words import counted, engine_words

if TYPE_CHECKING:
    from pullbook.app.check_engine import CheckedEngine
    from pullbook.quantities.showing import UnitSystem

__all__ = ["print_engine"]


def print_engine(checked: CheckedEngine, system: UnitSystem) -> None:
    """Print what an engine file declares, what is unusual and what is assumed."""
    spec = checked.spec
    print(spec.block.name)
    for line in engine_words(spec, checked.network, system):
        print(f"  {line}")
    print()
    if spec.unusual:
        print(counted(len(spec.unusual), "number is out of the usual range:", "numbers are out of the usual range:"))
        _print_table(
            ("key", "value", "usual", "what it is"),
            [(one.key, one.value, one.usual, one.says) for one in spec.unusual],
        )
    else:
        print("Every number is inside its usual range.")
    print()
    if checked.remarks:
        print("Remarks:")
        for remark in checked.remarks:
            print(f"  {remark}")
        print()
    if spec.assumed:
        print(counted(len(spec.assumed), "value is not in the file and is assumed:",
                       "values are not in the file and are assumed:"))  # fmt: skip
        _print_table(("key", "value", "why"), [(one.key, one.value, one.why) for one in spec.assumed])
    else:
        print("Nothing had to be assumed.")


def _print_table(head: tuple[str, ...], rows: list[tuple[str, ...]]) -> None:
    widths = [max(len(row[column]) for row in (head, *rows)) for column in range(len(head) - 1)]
    for row in (head, *rows):
        cells = [cell.ljust(width) for cell, width in zip(row, widths, strict=False)]
        print("  " + "  ".join([*cells, row[-1]]).rstrip())
