"""What a player remembers, how far they have come, and what comes next."""
