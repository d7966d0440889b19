"""Records become text, files and pictures; no SQL, no HTTP."""
