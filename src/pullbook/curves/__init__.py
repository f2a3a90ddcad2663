"""Numerics on curves, arrays only: basis, covariance, bands, features."""
