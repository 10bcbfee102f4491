"""The player's own numbers: ear, spreads, reeds."""
