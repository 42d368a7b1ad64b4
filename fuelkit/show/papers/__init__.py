"""Papers as they are seen: to sit in a notebook, in print, marked, and as a class report."""
