"""The page Paper."""
