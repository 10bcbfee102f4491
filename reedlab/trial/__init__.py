"""A trial as the plan froze it: its calendar."""
