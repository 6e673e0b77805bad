"""Takes of our own whose true bar lines are known, and the code that composes and plays them."""
