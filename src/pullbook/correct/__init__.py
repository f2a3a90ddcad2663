"""Pull -> CorrectedPull: the same air, and no torque lost to acceleration."""
