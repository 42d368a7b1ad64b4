"""Pages for paper: the typesetter, drawings with their words, handouts, blank sheets and cards."""
