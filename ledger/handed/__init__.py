"""What is handed out with an extract: checkers that need nothing of this program."""
