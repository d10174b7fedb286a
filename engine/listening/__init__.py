"""From sound to notes to devices: what somebody played, on the bass alone."""
