"""What was practised, seen over days: minutes, layers of a phrase, degrees, links."""
