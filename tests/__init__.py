"""What holds for counterfoil, sentence by sentence, checked against sources outside it."""
