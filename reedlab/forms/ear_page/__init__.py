"""The page Know your ear."""
