"""Money, due dates, shelf: what a board may cost, what is due, how old it is. Repair odds come as a value."""
