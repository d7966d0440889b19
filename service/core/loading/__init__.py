"""What can hang on a bar, or be taken in hand, at a place: exactly, and what to change."""
