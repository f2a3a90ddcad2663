"""The words of measurement: units, channels, array types."""
