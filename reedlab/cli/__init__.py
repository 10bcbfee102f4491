"""The command line: one module for each family of verbs."""

from .main import main

__all__ = ["main"]
