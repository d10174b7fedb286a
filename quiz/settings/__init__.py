"""The settings: what they are, what each may be, and their file."""
