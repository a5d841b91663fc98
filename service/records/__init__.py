"""What is kept, as plain classes, with the repository ports and the unit of work."""
