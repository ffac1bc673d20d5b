"""The law as data: rule files with dates and sources, and what they ask of one purchase. The program has no opinion."""
