"""Questions, answers, answer sheets and marks. Knows no screen."""
