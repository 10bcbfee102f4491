"""READ: an analysis put into plain words, figures and a page. Takes results; computes no statistics."""

from __future__ import annotations

from .answer import Answer, answer
from .together import TogetherAnswer, together_answer

__all__ = ["Answer", "TogetherAnswer", "answer", "together_answer"]
