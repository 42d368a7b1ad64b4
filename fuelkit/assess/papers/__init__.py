"""Papers: questions drawn from flights, a blueprint met for each learner, keys, and their marks."""
