"""From what a player gives to a grade, and back to something that can be heard."""
