"""Readings that stand beside the answer and never decide it."""
