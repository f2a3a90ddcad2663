"""Sources of pulls that are no files of a customer: the demo bench."""
