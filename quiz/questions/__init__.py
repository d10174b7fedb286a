"""The questions: what they are, how each kind is made, what is played of them."""
