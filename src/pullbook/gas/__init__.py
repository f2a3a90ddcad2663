"""One-dimensional unsteady gas dynamics: arrays in, arrays out."""
