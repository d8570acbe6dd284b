"""What to practise and what to ask: questions on a reading, the plan of a session, what is due on which day."""
