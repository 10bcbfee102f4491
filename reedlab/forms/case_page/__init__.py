"""The page of the reed case."""
