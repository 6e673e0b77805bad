"""What the bar stack is made of: where its rows lie, and how they are painted."""
