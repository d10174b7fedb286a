"""What each command does: wiring, and what it prints."""
