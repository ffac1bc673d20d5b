"""The assay room: marks, readings, streaks and densities become an assessment, a value and one picture."""
