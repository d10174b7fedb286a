"""What goes between a teacher and players: assignments out, results back."""
