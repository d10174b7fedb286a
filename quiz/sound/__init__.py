"""Sound out: rendered ahead, fed, and played through the device."""
