"""The words of an answer: whole sentences, one file for each part of the page."""
