"""The page with the answer."""
