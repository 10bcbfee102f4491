"""What a player should know about how a trial was made, kept and read."""
