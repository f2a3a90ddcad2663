"""Pull -> Check: fit to compare or not, and what could fake a gain."""
