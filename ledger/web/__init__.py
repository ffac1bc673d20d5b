"""The counter in a browser: pages over the acts, for a clerk with a customer waiting."""
