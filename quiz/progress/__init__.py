"""How it has gone: from counted answers and the practice to values, charts and tables."""
