"""Several trials of one question put together."""
