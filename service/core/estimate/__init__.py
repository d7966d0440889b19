"""What sets say of a max, and what a max says of sets: estimates, ranges, fatigue, moving averages."""
