"""The reshuffling tests and their ranges."""
