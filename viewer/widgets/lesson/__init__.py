"""The lesson desk: scenarios, comparison, quiz, explanations."""
