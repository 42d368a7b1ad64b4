"""What people see: drawings, the ribbon of a flight, the prediction board, with their tables."""
