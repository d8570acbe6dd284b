"""The screen that asks the ear: question, answers, what is heard, and the end of the spell."""
