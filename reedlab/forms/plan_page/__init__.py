"""The pages New reeds and Plan."""
