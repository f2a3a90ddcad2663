"""Comparison -> Findings: what the change did, where, and how sure that is."""
