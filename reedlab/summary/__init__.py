"""READ: an analysis put into plain words, figures and a page. Takes results; computes no statistics."""

from __future__ import annotations

from .answer import Answer, answer

__all__ = ["Answer", "answer"]
