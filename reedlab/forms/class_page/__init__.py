"""The page Class."""
