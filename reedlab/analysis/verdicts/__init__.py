"""Where a trial stands, and what its numbers allow to be said."""
