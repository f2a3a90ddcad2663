"""plan: which builds in which order, how many pulls each, and the odds of an answer, before a bolt is turned."""
