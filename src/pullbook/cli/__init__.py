"""The commands: text in, text out."""
