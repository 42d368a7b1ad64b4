"""The learner's edition: what goes into it, the look through it, and the archive."""
