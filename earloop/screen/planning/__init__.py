"""Today's plan as a panel: its steps, what is due, and the keys that change them."""
