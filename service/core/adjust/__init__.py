"""What was done so far becomes the next set, with its reason and with what would follow it."""
