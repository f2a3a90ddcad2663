"""Bytes of a file -> RawTable -> Log -> Pull; ``session.toml`` -> Session."""
