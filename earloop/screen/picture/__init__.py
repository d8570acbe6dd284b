"""The picture of the phrase: where each tone stands, what is drawn there, and the widget that shows it."""
