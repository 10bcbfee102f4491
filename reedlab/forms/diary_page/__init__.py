"""A diary as it is, matched and taken in."""
