"""The virtual engine: parts, network of pipes, cycles, and what they give."""
