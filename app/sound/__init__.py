"""Playing a take with a click: a process of its own owns the card, and the window follows its clock."""
