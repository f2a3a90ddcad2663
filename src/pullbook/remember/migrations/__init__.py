"""Numbered steps from an empty archive to the tables of today; none of them is ever changed once it is released."""
