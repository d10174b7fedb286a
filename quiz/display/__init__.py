"""What is said and drawn, the same on the screens and in line mode."""
