"""Use cases: one file per verb of the user; the stages meet only here."""
