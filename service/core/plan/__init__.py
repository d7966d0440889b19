"""What a written slot or session amounts to before anyone lifts it: sets, repetitions, hard or not, minutes."""
